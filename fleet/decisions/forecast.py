"""Chances of each unit, averaged over the draws of the posterior.

A unit's own uncertainties are in its draws: its build date spread evenly over its range, what is
blank of its heat and use, a batch nobody knows. METHODS: unit-draws, chance, unseen
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from fleet.decisions.drawn_lives import DrawnLives, even_steps, hazard_at, quantiles
from fleet.decisions.weibull_life import Floats, Mask, Whole

_AT_ONCE = 512  # units worked on together: what they take stays in the cache
_HALF = 0.5  # share of the board's hazard that old positions of a partly renewed set carry
_SEED = 40


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Units:
    """Units to forecast; ages in days at the as-of date, NaN where blank.

    `youngest` and `oldest` bound the age of the present set. `silent`: days since it was last
    seen working. `old_cell` and `old_age` are of
    the parts left in a partly renewed set; -1 and NaN for whole sets. `own_unknown`: its batch is
    not known, so that its own survival tells of it.
    """

    cell: Whole
    youngest: Floats
    oldest: Floats
    silent: Floats
    ambient_c: Floats
    hours: Floats
    old_cell: Whole
    old_age: Floats
    own_unknown: Mask
    prompt_share: Floats

    def take(self, place: Whole) -> "Units":
        """Some of the units."""
        return Units(**{name: getattr(self, name)[place] for name in self.__slots__})


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Chances:
    """p_fail with its limits, and p_failed_unseen, of each unit."""

    p_fail: Floats
    low: Floats
    high: Floats
    unseen: Floats


def forecast(lives: DrawnLives, units: Units, *, horizon: float, level: float) -> Chances:
    """Chances of each unit to fail within `horizon` days, and to have failed unseen.

    Limits are the quantiles of the chance over the draws, a share `level` between them.
    """
    out = {name: np.empty(units.cell.size) for name in ("p_fail", "low", "high", "unseen")}
    tail = (1.0 - level) / 2.0
    for place in _blocks(units.cell.size):
        law = unit_law(lives, units.take(place))
        now = law.hazard(law.age)
        chance = -np.expm1(now - law.hazard(law.age + horizon))
        out["p_fail"][place] = (law.weight * chance).sum(axis=1)
        low, high = quantiles(chance, law.weight, (tail, 1.0 - tail))
        # where the draws lie far apart their mean may lie beyond a quantile
        out["low"][place] = np.minimum(low, out["p_fail"][place])
        out["high"][place] = np.maximum(high, out["p_fail"][place])
        out["unseen"][place] = _unseen(law, now, units.prompt_share[place])
    return Chances(**out)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class UnitLaw:
    """Laws of life of some units under each draw, (units, draws) throughout.

    Parts left in a partly renewed set are the `old_` ones, with `old_share` of the hazard.
    """

    weight: Floats
    shape: Floats
    log_scale: Floats
    age: Floats
    seen: Floats
    old_shape: Floats | None
    old_log_scale: Floats | None
    older_by: Floats | None
    old_share: Floats | None

    def hazard(self, age: Floats) -> Floats:
        """Cumulative hazard at an age of the present set."""
        new = hazard_at(self.shape, self.log_scale, age)
        if (
            self.old_share is None
            or self.old_shape is None
            or self.old_log_scale is None
            or self.older_by is None
        ):
            return new
        old = hazard_at(self.old_shape, self.old_log_scale, age + self.older_by)
        return np.asarray((1.0 - self.old_share) * new + self.old_share * old)

    def added(self, start: Floats, end: Floats) -> Floats:
        """Cumulative hazard from one age of the present set to another."""
        return np.asarray(self.hazard(end) - self.hazard(start))

    def take(self, rows: Mask) -> "UnitLaw":
        """Some of the units."""
        told = {name: getattr(self, name) for name in self.__slots__}
        some: dict[str, Any] = {n: None if v is None else v[rows] for n, v in told.items()}
        return UnitLaw(**some)


def unit_law(lives: DrawnLives, units: Units, *, place: int | None = None) -> UnitLaw:
    """The law of each unit; `place` as in `even_steps`."""
    middle = (units.youngest + units.oldest) / 2.0
    factor = lives.log_factor(units.cell, units.ambient_c, units.hours, place=place)
    spread = even_steps(units.cell.size, lives.draws, _SEED, place)
    youngest = units.youngest[:, None]
    age = youngest + (units.oldest[:, None] - youngest) * spread
    seen = np.maximum(age - units.silent[:, None], 0.0)
    partly = units.old_cell >= 0
    old = np.where(partly, units.old_cell, units.cell)
    law = UnitLaw(
        weight=lives.weight[units.cell],
        shape=lives.shape[units.cell],
        log_scale=lives.log_scale[units.cell] + factor,
        age=age,
        seen=seen,
        old_shape=lives.shape[old] if partly.any() else None,
        old_log_scale=lives.log_scale[old] + factor if partly.any() else None,
        older_by=np.where(partly, units.old_age - middle, 0.0)[:, None] if partly.any() else None,
        old_share=np.where(partly, _HALF, 0.0)[:, None] if partly.any() else None,
    )
    return _given_alive(law, lives, units)


def in_doubt(lives: DrawnLives, units: Units) -> Mask:
    """Units whose own heat, use or batch is not known, where it counts."""
    blank = (np.isnan(units.ambient_c) & lives.tells_heat()[units.cell]) | (
        ~(units.hours > 0.0) & lives.tells_use()[units.cell]
    )
    return np.asarray(blank | units.own_unknown)


def _given_alive(law: UnitLaw, lives: DrawnLives, units: Units) -> UnitLaw:
    """Weights given that the unit has lived from new, where its own law is in doubt.

    What is common to all units has learned from it already; its own heat, use or batch has not:
    an old set that works is likely a cool one.
    """
    doubted = in_doubt(lives, units)
    weight = law.weight / law.weight.sum(axis=1, keepdims=True)
    if doubted.any():
        mine = law.take(doubted)
        logs = -mine.added(np.zeros_like(mine.seen), mine.seen)
        likely = weight[doubted] * np.exp(logs - logs.max(axis=1, keepdims=True))
        weight[doubted] = likely / likely.sum(axis=1, keepdims=True)
    fields = {name: getattr(law, name) for name in law.__slots__}
    return UnitLaw(**fields | {"weight": weight})


def _unseen(law: UnitLaw, now: Floats, prompt_share: Floats) -> Floats:
    """(1 - s) q / ((1 - s) q + 1 - q) for the chance q, over the draws, of failing since seen."""
    failed = (law.weight * -np.expm1(law.hazard(law.seen) - now)).sum(axis=1)
    silent = (1.0 - prompt_share) * failed
    either = silent + (1.0 - failed)
    return np.asarray(np.divide(silent, either, out=np.zeros_like(silent), where=silent > 0))


def _blocks(count: int) -> Iterator[Whole]:
    for first in range(0, count, _AT_ONCE):
        yield np.arange(first, min(first + _AT_ONCE, count))
