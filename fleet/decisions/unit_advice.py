"""The best age of every unit, by the draws: like units together, many like ones read off.

METHODS: best-age-by-draws, unit-draws
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.best_age_past import best_given_alive
from fleet.decisions.best_ages_by_draws import (
    Advice,
    draws_own_ages,
    lowest_cost_age,
)
from fleet.decisions.between import Between, between
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units, unit_law
from fleet.decisions.rates_to_come import rates_to_come
from fleet.decisions.weibull_life import Floats, Whole

_AT_ONCE = 512  # rows of drawn lives held at once


def unit_advice(
    units: pl.DataFrame, own: Units, cells: pl.DataFrame, lives: DrawnLives, *, same: bool
) -> Advice:
    """Best ages of units (days from new), judged again for those past them that still live.

    `units` has model, parts, age, planned_cost, failure_cost and new_life; `own` are the same
    units as arrays. `same`: the same life goes in over and over.
    """
    oldest = own.old_cell >= 0  # the due date of a partly renewed set is that of its oldest parts
    judged = Units(
        **{n: getattr(own, n) for n in Units.__slots__ if n not in ("cell", "old_cell")},
        cell=np.where(oldest, own.old_cell, own.cell),
        old_cell=np.full(own.cell.size, -1),
    )
    asked = _Asked.of(units, cells, lives, same=same)
    alike = _alike(judged, lives, asked)
    rows, asked = judged.take(alike.first), asked.take(alike.first)
    new, low, high = _from_new(rows, lives, asked), *_limits(rows, lives, asked)
    age = np.array(units["age"].cast(pl.Float64).to_numpy())
    best = new[alike.which]
    past = np.flatnonzero(np.isfinite(best) & (age > best))
    if past.size and asked.rate is not None:
        again = _past(rows, lives, asked, asked.rate, alike.which[past], age[past])
        best[past] = np.where(again <= age[past], new[alike.which[past]], again)
    low, high = low[alike.which], high[alike.which]
    return Advice(age=best, low=np.minimum(low, best), high=np.maximum(high, best))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Asked:
    """What each unit's advice hangs on beside its parts: NaN where unknown.

    `rate`: what every day costs after its parts; None where the same life goes in again.
    """

    planned: Floats
    failure: Floats
    new_life: Floats
    rate: Floats | None

    @classmethod
    def of(
        cls, units: pl.DataFrame, cells: pl.DataFrame, lives: DrawnLives, *, same: bool
    ) -> "_Asked":
        planned, failure, new_life = (
            np.array(units[c].cast(pl.Float64).fill_null(np.nan).to_numpy())
            for c in ("planned_cost", "failure_cost", "new_life")
        )
        rate = None if same else rates_to_come(units, cells, lives)
        return cls(planned=planned, failure=failure, new_life=new_life, rate=rate)

    def take(self, place: Whole) -> "_Asked":
        rate = None if self.rate is None else self.rate[place]
        return _Asked(
            planned=self.planned[place],
            failure=self.failure[place],
            new_life=self.new_life[place],
            rate=rate,
        )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Alike:
    """Units whose best ages are the same: one of each, and which of them each unit is."""

    first: Whole
    which: Whole


def _alike(units: Units, lives: DrawnLives, asked: _Asked) -> _Alike:
    """Units of one cell with the same heat, use, costs and new parts; with blanks also of about
    one age.
    """
    at = _coordinates(units, lives)
    key = _kind(units, at, asked).with_columns(
        heat=pl.Series(at[:, 0]).round(1),
        use=pl.Series(at[:, 1]).round(2),
        seen=pl.Series(at[:, 2]).round(0),
    )
    named = key.with_row_index("row").with_columns(first=pl.col("row").first().over(key.columns))
    first, which = np.unique(named["first"].to_numpy(), return_inverse=True)
    return _Alike(first=first.astype(np.int64), which=which)


def _kind(units: Units, at: Floats, asked: _Asked) -> pl.DataFrame:
    """What units must share for their advice to hang on their coordinates alone."""
    return pl.DataFrame(
        {
            "cell": units.cell,
            "no_heat": np.isnan(at[:, 0]),
            "no_use": np.isnan(at[:, 1]),
            "no_age": np.isnan(at[:, 2]),
            "own_unknown": units.own_unknown,
            "planned": asked.planned,
            "failure": asked.failure,
            "new_life": np.log(asked.new_life).round(2),  # lives within 1 % are taken as one
        }
    )


def _coordinates(units: Units, lives: DrawnLives) -> Floats:
    """Heat, log of powered hours, and years it has lived, (units, 3); NaN where it does not count.

    How long a unit has lived counts where something of its law is its own and not known. Heat
    does not count where no draw has it shorten lives, and use likewise.
    """
    heat, use = lives.tells_heat()[units.cell], lives.tells_use()[units.cell]
    no_use = ~(units.hours > 0.0)  # nobody powers a machine for no hours a year: blank
    blank = (np.isnan(units.ambient_c) & heat) | (no_use & use) | units.own_unknown
    seen = np.maximum((units.youngest + units.oldest) / 2.0 - units.silent, 0.0)
    heat &= (lives.heat != 0.0).any(axis=1)[units.cell]
    use &= (lives.calendar != 1.0).any(axis=1)[units.cell]
    return np.stack(
        [
            np.where(heat, units.ambient_c, np.nan),
            np.where(use & ~no_use, np.log(np.where(no_use, 1.0, units.hours)), np.nan),
            np.where(blank, seen / DAYS_PER_YEAR, np.nan),
        ],
        axis=1,
    )


def _from_new(rows: Units, lives: DrawnLives, asked: _Asked) -> Floats:
    """Best ages of rows; of many like ones at a few places, and read off between."""
    at = _coordinates(rows, lives)
    some = _read_off(rows, at, asked)
    alone = np.ones(rows.cell.size, bool)
    for members, read in some:
        alone[np.delete(members, read.probes)] = False
    exact = np.flatnonzero(alone)
    placed = [_placed(rows, members[0], read.at) for members, read in some]
    like = [np.repeat(members[0], len(read.at)) for members, read in some]
    found = _best(
        _joined([rows.take(exact), *placed]), lives, asked.take(np.concatenate([exact, *like]))
    )
    best = np.full(rows.cell.size, np.nan)
    best[exact] = found[: exact.size]
    start, rest = exact.size, []
    for members, read in some:
        told = read.answers(found[start : start + len(read.at)], best[members[read.probes]])
        start += len(read.at)
        others = np.delete(members, read.probes)
        if told is None:
            rest.append(others)
        else:
            best[others] = np.delete(told, read.probes)
    if rest:
        again = np.concatenate(rest)
        best[again] = _best(rows.take(again), lives, asked.take(again))
    return best


def _read_off(rows: Units, at: Floats, asked: _Asked) -> list[tuple[Whole, Between]]:
    """Rows that differ by their coordinates alone, where they are many, and where to read off."""
    kind = _kind(rows, at, asked)
    groups = kind.with_row_index("row").group_by(kind.columns, maintain_order=True).agg("row")
    out = []
    for members in groups["row"]:
        mine = members.to_numpy().astype(np.int64)
        counts = ~np.isnan(at[mine[0]])
        read = between(at[mine][:, counts]) if counts.any() else None
        if read is not None:
            full = np.full((len(read.at), at.shape[1]), np.nan)
            full[:, counts] = read.at
            out.append((mine, Between(at=full, probes=read.probes, read=read.read)))
    return out


def _placed(rows: Units, like: int, at: Floats) -> Units:
    """Units like one row, but with the coordinates of some places."""
    one = rows.take(np.repeat(like, len(at)))
    there = ~np.isnan(at)
    days = at[:, 2] * DAYS_PER_YEAR
    return Units(
        **{n: getattr(one, n) for n in ("cell", "old_cell", "old_age", "own_unknown",
                                        "prompt_share")},
        youngest=np.where(there[:, 2], days, one.youngest),
        oldest=np.where(there[:, 2], days, one.oldest),
        silent=np.where(there[:, 2], 0.0, one.silent),
        ambient_c=np.where(there[:, 0], at[:, 0], one.ambient_c),
        hours=np.where(there[:, 1], np.exp(at[:, 1]), one.hours),
    )  # fmt: skip


def _joined(parts: list[Units]) -> Units:
    return Units(**{n: np.concatenate([getattr(p, n) for p in parts]) for n in Units.__slots__})


def _best(rows: Units, lives: DrawnLives, asked: _Asked) -> Floats:
    """Best age from new of each row, a block of rows at a time."""
    out = np.empty(rows.cell.size)
    for block in _blocks(rows.cell.size):
        out[block] = lowest_cost_age(*_drawn(rows, lives, asked, block))
    return out


def _limits(rows: Units, lives: DrawnLives, asked: _Asked) -> tuple[Floats, Floats]:
    low, high = np.empty(rows.cell.size), np.empty(rows.cell.size)
    for block in _blocks(rows.cell.size):
        low[block], high[block] = draws_own_ages(*_drawn(rows, lives, asked, block))
    return low, high


def _drawn(
    rows: Units, lives: DrawnLives, asked: _Asked, block: Whole
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats | None]:
    law, cost = unit_law(lives, rows.take(block)), asked.take(block)
    return law.shape, law.log_scale, law.weight, cost.planned, cost.failure, cost.rate


def _past(
    rows: Units, lives: DrawnLives, asked: _Asked, rate: Floats, which: Whole, age: Floats
) -> Floats:
    """Best age of units that have lived to `age`; `which` row each of them is."""
    best = np.empty(age.size)
    mine, place = np.unique(which, return_inverse=True)
    order = np.argsort(place, kind="stable")
    ends = np.searchsorted(place[order], np.arange(mine.size + 1))
    for block in _blocks(mine.size):
        some = order[ends[block[0]] : ends[block[-1] + 1]]
        law, cost = unit_law(lives, rows.take(mine[block])), asked.take(mine[block])
        best[some] = best_given_alive(
            law.shape, law.log_scale, law.weight, cost.planned, cost.failure, rate[mine[block]],
            place[some] - block[0], age[some],
        )  # fmt: skip
    return best


def _blocks(count: int) -> list[Whole]:
    return [np.arange(n, min(n + _AT_ONCE, count)) for n in range(0, count, _AT_ONCE)]
