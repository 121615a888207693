"""The age at which the chance of failing soon passes a limit, averaged over the draws.

Chance at age t, for a unit that works: 1 - Σ w R(t + within) / Σ w R(t), over the draws; a draw
counts from now on with the chance that the unit lives so long under it. METHODS: risk-limit
"""

from typing import Any

import numpy as np
import polars as pl

from fleet.ages import days
from fleet.decisions.best_ages_by_draws import NEVER, Advice
from fleet.decisions.drawn_lives import DrawnLives, hazard_at, quantiles
from fleet.decisions.forecast import UnitLaw, Units, unit_law
from fleet.decisions.weibull_life import Floats, Whole

_AT_ONCE = 512
_TAIL = 0.05
_HALVINGS = 40
_BACK = 40  # steps back from the present age to new


def ages_at_risk(
    lives: DrawnLives, units: Units, age: Floats, *, limit: float, within: float
) -> Advice:
    """Ages at which each unit's chance of failing within `within` days passes `limit`.

    `age` of each unit in days, as its dates are reckoned from. Of a unit past the limit: the age
    since which it has been. Infinite for never. `low` and `high`: 5 and 95 % of the draws' own
    such ages, from new.
    """
    first, which = _alike(units, age)
    some, at = units.take(first), age[first]
    out = {name: np.empty(first.size) for name in ("age", "low", "high")}
    for start in range(0, first.size, _AT_ONCE):
        rows = np.arange(start, min(start + _AT_ONCE, first.size))
        law = unit_law(lives, some.take(rows))
        found = _passing(law, at[rows], limit=limit, within=within)
        out["age"][rows] = np.where(found > NEVER, np.inf, found)
        own = _draws_passing(law, limit=limit, within=within)
        own = np.where(own > NEVER, np.inf, own)
        out["low"][rows], out["high"][rows] = quantiles(own, law.weight, (_TAIL, 1.0 - _TAIL))
    age_, low, high = (out[name][which] for name in ("age", "low", "high"))
    return Advice(age=age_, low=np.minimum(low, age_), high=np.maximum(high, age_))


def chance_at(law: UnitLaw, ahead: Floats, within: float) -> Floats:
    """Chance of each unit to fail within `within` days of `ahead` days from now (may be below
    zero, for days gone by), given that it works then.
    """
    start = np.maximum(law.age + ahead[:, None], 0.0)
    added = law.added(start, start + within)
    weight = law.weight * np.exp(-law.added(law.age, np.maximum(start, law.age)))
    total = weight.sum(axis=1)
    chance = (weight * -np.expm1(-added)).sum(axis=1)
    # nobody lives so long under any draw: the chance there is as good as one
    return np.asarray(np.divide(chance, total, out=np.ones_like(chance), where=total > 0.0))


def _passing(law: UnitLaw, age: Floats, *, limit: float, within: float) -> Floats:
    """Age at which each unit's chance passes the limit, walking on from now, or back."""
    count = age.size
    now = chance_at(law, np.zeros(count), within)
    out = np.full(count, np.inf)
    over = now >= limit
    back = np.flatnonzero(over)
    if back.size:
        out[back] = age[back] + _walk(law, back, now[back], limit, within, -age[back] / _BACK)
    on = np.flatnonzero(~over)
    if on.size:
        out[on] = age[on] + _walk(law, on, now[on], limit, within, None)
    return np.asarray(np.maximum(out, 0.0))


def _walk(
    law: UnitLaw, rows: Whole, now: Floats, limit: float, within: float, step: Floats | None
) -> Floats:
    """Days from now at which the chance crosses the limit: back by even `step`s to new (as far as
    it stays above), or on by growing steps (infinite where it never gets there).
    """
    ahead = np.full(rows.size, np.inf)
    at, before = np.zeros(rows.size), now
    todo = np.arange(rows.size)
    reached, growing = 0, days(0.25)
    while todo.size:
        new = at + (step[todo] if step is not None else growing)
        chance = chance_at(_some(law, rows[todo]), new, within)
        crossed = chance < limit if step is not None else chance >= limit
        with np.errstate(divide="ignore", invalid="ignore"):
            part = np.clip((limit - before) / (chance - before), 0.0, 1.0)
        ahead[todo[crossed]] = (at + part * (new - at))[crossed]
        reached, growing = reached + 1, growing * 1.05
        end = reached >= _BACK if step is not None else bool(new.max(initial=0.0) > NEVER)
        if end:
            if step is not None:
                ahead[todo[~crossed]] = new[~crossed]  # above it since new
            break
        todo, at, before = todo[~crossed], new[~crossed], chance[~crossed]
    return ahead


def _some(law: UnitLaw, rows: Whole) -> UnitLaw:
    taken: dict[str, Any] = {name: getattr(law, name) for name in law.__slots__}
    taken = {name: None if value is None else value[rows] for name, value in taken.items()}
    return UnitLaw(**taken)


def _draws_passing(law: UnitLaw, *, limit: float, within: float) -> Floats:
    """The same age under each draw by itself, from new, of the older parts where two are mixed.

    The hazard gathered in a span of fixed length rises with age for shape above 1, so halving
    finds the age; for other shapes it is at once or never.
    """
    shape, log_scale = law.shape, law.log_scale
    if law.old_share is not None and law.old_shape is not None and law.old_log_scale is not None:
        partly = law.old_share > 0.0
        shape = np.where(partly, law.old_shape, shape)
        log_scale = np.where(partly, law.old_log_scale, log_scale)
    wanted = -np.log1p(-limit)

    def gathered(age: Floats) -> Floats:
        later = hazard_at(shape, log_scale, age + within)
        return np.asarray(later - hazard_at(shape, log_scale, age))

    low, high = np.zeros(shape.shape), np.full(shape.shape, 2.0 * NEVER)
    at_once = gathered(low) >= wanted
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        short = gathered(middle) < wanted
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    rising = np.where(high >= 2.0 * NEVER, np.inf, high)
    return np.where(at_once, 0.0, np.where(shape > 1.0, rising, np.inf))


def _alike(units: Units, age: Floats) -> tuple[Whole, Whole]:
    """The first of each kind of units of which the same is known, and which of them each is."""
    fields = {n: getattr(units, n) for n in Units.__slots__ if n != "prompt_share"}
    table = pl.DataFrame({"_age": age, **fields}).with_row_index("_row")
    named = table.select(first=pl.col("_row").first().over(table.columns[1:]))
    first, which = np.unique(named["first"].to_numpy(), return_inverse=True)
    return first.astype(np.int64), which
