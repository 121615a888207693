"""What a recap costs in one month rather than another.

As one-time replacement has it, done t days from now a recap is expected to cost

    J(t) = failure_cost F(t) + planned_cost R(t) - g L(t)

with F the chance of failing before, R = 1 - F, L the days lived until then, and g what every day
costs once new parts are in. Draws count with the chance that the unit has reached its age under
them, as in its best age: the month of the due date is the cheapest. METHODS: plan,
one-time-replacement
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.ages import days
from fleet.decisions.best_ages_by_draws import long_run_rate
from fleet.decisions.drawn_lives import DrawnLives, hazard_at
from fleet.decisions.forecast import Units, unit_law
from fleet.decisions.rates_to_come import rates_to_come
from fleet.decisions.weibull_life import Floats, Whole

_AT_ONCE = 512
# Days on which chances are reckoned where there are more, and how far ahead that is enough.
_NODES, _FEW_YEARS, _NODES_OF_MANY_YEARS = 12, days(3.0), 28


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Waiting:
    """Of each unit: chance `failed` before each day and days `lived` until then, (units, days);
    the costs of a planned recap and a failure, and the `rate` a day of the parts to come.
    """

    failed: Floats
    lived: Floats
    planned: Floats
    failure: Floats
    rate: Floats

    def expected(self) -> Floats:
        """J, (units, days); NaN where a cost is unknown."""
        planned, failure, rate = (v[:, None] for v in (self.planned, self.failure, self.rate))
        return np.asarray(failure * self.failed + planned * (1.0 - self.failed) - rate * self.lived)

    def above_best(self) -> Floats:
        """J above that of the best of the days."""
        cost = self.expected()
        return np.asarray(cost - cost.min(axis=1, keepdims=True))

    def above_date(self, day: Whole) -> Floats:
        """Where another rule than cost sets the `day` of each unit (an index): later costs the
        failures added, earlier the days of the present parts given away.
        """
        rows = np.arange(day.size)
        more = self.failed - self.failed[rows, day][:, None]
        given = self.lived[rows, day][:, None] - self.lived
        dearer = (self.failure - self.planned)[:, None]
        return np.asarray(
            np.maximum(dearer, 0.0) * np.maximum(more, 0.0)
            + self.rate[:, None] * np.maximum(given, 0.0)
        )


def waiting(
    listed: pl.DataFrame,
    units: Units,
    cells: pl.DataFrame,
    lives: DrawnLives,
    days: Floats,
    *,
    same: bool,
) -> Waiting:
    """Chances and days lived until each of some `days` from now, rising.

    `listed` and `units` as `units_by_cell` gives them, `listed` with planned_cost, failure_cost
    and new_life as well; `same`: the same parts go in again.
    """
    oldest = units.old_cell >= 0  # a partly renewed set is dated by its oldest parts
    judged = Units(
        **{n: getattr(units, n) for n in Units.__slots__ if n not in ("cell", "old_cell")},
        cell=np.where(oldest, units.old_cell, units.cell),
        old_cell=np.full(units.cell.size, -1),
    )
    planned, failure, age = (
        np.array(listed[c].cast(pl.Float64).fill_null(np.nan).to_numpy())
        for c in ("planned_cost", "failure_cost", "age")
    )
    count = age.size
    failed, lived, own = np.empty((count, days.size)), np.empty((count, days.size)), np.empty(count)
    for first in range(0, count, _AT_ONCE):
        rows = np.arange(first, min(first + _AT_ONCE, count))
        law = unit_law(lives, judged.take(rows))
        if same:
            own[rows] = long_run_rate(
                law.shape, law.log_scale, law.weight, planned[rows], failure[rows]
            )
        failed[rows], lived[rows] = _until(law.shape, law.log_scale, law.weight, age[rows], days)
    rate = own if same else rates_to_come(listed, cells, lives)
    return Waiting(failed=failed, lived=lived, planned=planned, failure=failure, rate=rate)


def _until(
    shape: Floats, log_scale: Floats, weight: Floats, age: Floats, days: Floats
) -> tuple[Floats, Floats]:
    """Chance of failing before, and days lived until, each day; given that age, over the draws.

    Between the days of a polynomial (Chebyshev's) the chance to live is smooth but for young sets:
    it is right to 1e-9 there, for less than half of the work.
    """
    alive = np.empty((age.size, days.size))
    some = _NODES if days[-1] < _FEW_YEARS else _NODES_OF_MANY_YEARS
    smooth = (age >= days[-1]) & (days.size > some)
    for rows in (np.flatnonzero(smooth), np.flatnonzero(~smooth)):
        mine = shape[rows], log_scale[rows], weight[rows], age[rows]
        if not rows.size:
            continue
        if smooth[rows[0]]:
            nodes, between = _polynomial(some, days)
            alive[rows] = _alive(*mine, nodes) @ between.T
        else:
            alive[rows] = _alive(*mine, days)
    before = np.concatenate((np.ones((age.size, 1)), alive[:, :-1]), axis=1)
    steps = np.diff(days, prepend=0.0)
    return 1.0 - alive, np.cumsum(steps * (before + alive) / 2.0, axis=1)


def _alive(
    shape: Floats, log_scale: Floats, weight: Floats, age: Floats, days: Floats
) -> Floats:  # fmt: skip
    """Chance of each unit to live until each day, given that it has reached its age."""
    now = hazard_at(shape, log_scale, age[:, None])
    likely = weight * np.exp(now.min(axis=1, keepdims=True) - now)
    likely = likely / likely.sum(axis=1, keepdims=True)
    alive = np.empty((age.size, days.size))
    for n, day in enumerate(days):
        survives = np.exp(now - hazard_at(shape, log_scale, (age + day)[:, None]))
        alive[:, n] = (likely * survives).sum(axis=1)
    return alive


def _polynomial(count: int, days: Floats) -> tuple[Floats, Floats]:
    """Days on which to look, and what the values there are at `days`, (days, those)."""
    at = np.cos(np.pi * (np.arange(count)[::-1] + 0.5) / count)
    basis = np.polynomial.chebyshev.chebvander(2.0 * days / days[-1] - 1.0, count - 1)
    back = np.linalg.inv(np.polynomial.chebyshev.chebvander(at, count - 1))
    return (at + 1.0) / 2.0 * days[-1], np.asarray(basis @ back)
