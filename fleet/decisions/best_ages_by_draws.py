"""The age at which new parts pay, averaged over the draws of the posterior.

With the same life over and over the advice is the age with the lowest expected long-run cost.
With other parts it is the age with the lowest expected cost of what is left, every day after
costing g. A recap in advance is advised only where it is expected to save at least LEAST_SAVING of
what running to failure costs. METHODS: best-age-by-draws, age-replacement, one-time-replacement
"""

from dataclasses import dataclass

import numpy as np

from fleet.ages import days
from fleet.decisions.cost_table import CostTable
from fleet.decisions.drawn_lives import quantiles
from fleet.decisions.left_to_pay import GRID, LeftToPay, blocks, grid_ages, near_lowest
from fleet.decisions.replace_age import age_replacement_weibull, one_time_weibull
from fleet.decisions.weibull_life import Floats, mean_life

LEAST_SAVING = 0.02
NEVER = days(100.0)  # an age that no machine of ours sees: as good as never
_TAIL = 0.05  # each side of the 90 % that decisions come with


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Advice:
    """Best ages of each row, from new: infinite for never, NaN where a cost is unknown.

    `low` and `high`: 5 and 95 % of the draws' own best ages.
    """

    age: Floats
    low: Floats
    high: Floats


def long_run_rate(
    shape: Floats, log_scale: Floats, weight: Floats, planned: Floats, failure: Floats
) -> Floats:
    """Lowest expected long-run cost per unit of age of each row (rows, draws) of lives.

    Costs are one a row; NaN where one is unknown.
    """
    rate = np.empty(len(shape))
    for rows in blocks(len(shape)):
        _, costs, never = _classic(
            shape[rows], log_scale[rows], weight[rows], planned[rows], failure[rows]
        )
        rate[rows] = np.minimum(costs.min(axis=1), never)
    return rate


def best_ages(
    shape: Floats,
    log_scale: Floats,
    weight: Floats,
    planned: Floats,
    failure: Floats,
    rate: Floats | None,
) -> Advice:
    """Best ages of rows of drawn lives, all (rows, draws); costs and `rate` one a row.

    `rate` None: the same life over and over.
    """
    told = (shape, log_scale, weight, planned, failure, rate)
    low, high = draws_own_ages(*told)
    return Advice(age=lowest_cost_age(*told), low=low, high=high)


def lowest_cost_age(
    shape: Floats,
    log_scale: Floats,
    weight: Floats,
    planned: Floats,
    failure: Floats,
    rate: Floats | None,
) -> Floats:
    """The ages of `best_ages` alone."""
    best = np.full(len(shape), np.nan)
    known = np.flatnonzero(~np.isnan(planned) & ~np.isnan(failure))
    for rows in (known[block] for block in blocks(known.size)):
        part = (shape[rows], log_scale[rows], weight[rows], planned[rows], failure[rows])
        if rate is None:
            ages, costs, never = _classic(*part)
            failing = never
        else:
            left = LeftToPay.of(*part, rate[rows])
            ages, costs, never = left.ages, left.costs(near_lowest), left.never
            failing = left.failure
        age = _lowest(ages, costs, never, failing)
        best[rows] = np.where(age > NEVER, np.inf, age)
    return best


def draws_own_ages(
    shape: Floats,
    log_scale: Floats,
    weight: Floats,
    planned: Floats,
    failure: Floats,
    rate: Floats | None,
) -> tuple[Floats, Floats]:
    """The limits of `best_ages` alone: 5 and 95 % of the draws' own best ages, one a row each."""
    low, high = np.full(len(shape), np.nan), np.full(len(shape), np.nan)
    known = np.flatnonzero(~np.isnan(planned) & ~np.isnan(failure))
    for rows in (known[block] for block in blocks(known.size)):
        life = (shape[rows], np.exp(log_scale[rows]), planned[rows, None], failure[rows, None])
        if rate is None:
            own = age_replacement_weibull(*life).age
        else:
            best = one_time_weibull(*life, rate[rows, None])
            own = np.where(best.now_until >= 0.0, 0.0, best.wait)
        own = np.where(own > NEVER, np.inf, own)
        low[rows], high[rows] = quantiles(own, weight[rows], (_TAIL, 1.0 - _TAIL))
    return low, high


def _classic(
    shape: Floats, log_scale: Floats, weight: Floats, planned: Floats, failure: Floats
) -> tuple[Floats, Floats, Floats]:
    """Ages (rows, grid), expected cost per unit of age at each, and of never replacing."""
    table, ages = CostTable(shape), grid_ages(log_scale, weight)
    share = weight * np.exp(-log_scale)
    costs = np.empty(ages.shape)
    for n in range(ages.shape[1]):
        at = np.log(ages[:, n])[:, None] - log_scale
        alive = table.survival(at)
        each = (planned[:, None] * alive + failure[:, None] * (1.0 - alive)) / table.lived(at)
        costs[:, n] = (share * each).sum(axis=1)
    never = failure * (share / mean_life(shape, 1.0)).sum(axis=1)
    return ages, costs, never


def _lowest(ages: Floats, costs: Floats, never: Floats, failing: Floats) -> Floats:
    """The age of the lowest cost, by a parabola through its neighbours; infinite for never.

    `failing`: what running to failure costs, in the unit of `costs`. Of one life that is the
    failure's cost: what is saved of it is then the same share as of the classic rate, where the
    next life is the same again.
    """
    rows = np.arange(len(ages))
    place = np.clip(costs.argmin(axis=1), 1, costs.shape[1] - 2)
    before, here, after = (costs[rows, place + n] for n in (-1, 0, 1))
    bend = before - 2.0 * here + after
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.where(bend > 0.0, 0.5 * (before - after) / bend, 0.0)
    step = np.log(GRID[1] / GRID[0])
    age = ages[rows, place] * np.exp(np.clip(shift, -1.0, 1.0) * step)
    pays = never - costs.min(axis=1) > LEAST_SAVING * failing
    return np.where(pays, age, np.inf)
