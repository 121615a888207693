"""The age at which new parts pay, averaged over the draws of the posterior.

With the same life over and over the advice is the age with the lowest expected long-run cost.
With other parts it is the age with the lowest expected cost of what is left, every day after
costing g. A recap in advance is advised only where it is expected to save at least LEAST_SAVING of
what running to failure costs. METHODS: best-age-by-draws, age-replacement, one-time-replacement
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.ages import days
from fleet.decisions.cost_table import CostTable
from fleet.decisions.drawn_lives import quantiles
from fleet.decisions.replace_age import age_replacement_weibull, one_time_weibull
from fleet.decisions.weibull_life import Floats, Whole, mean_life

LEAST_SAVING = 0.02
NEVER = days(100.0)  # an age that no machine of ours sees: as good as never
_AT_ONCE = 256
_TAIL = 0.05  # each side of the 90 % that decisions come with
_STRIDE = 3  # nodes from one to the next that a first look takes
_GRID = np.exp(np.linspace(np.log(0.03), np.log(8.0), 90))  # times the middle scale


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
    for rows in _blocks(len(shape)):
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
    count = len(shape)
    out = {name: np.full(count, np.nan) for name in ("age", "low", "high")}
    known = np.flatnonzero(~np.isnan(planned) & ~np.isnan(failure))
    for rows in (known[block] for block in _blocks(known.size)):
        part = (shape[rows], log_scale[rows], weight[rows], planned[rows], failure[rows])
        if rate is None:
            ages, costs, never = _classic(*part)
            failing = never
            own = age_replacement_weibull(
                part[0], np.exp(part[1]), part[3][:, None], part[4][:, None]
            ).age
        else:
            ages, costs, never = _once(*part, rate[rows], _near_lowest)
            failing = part[4]
            best = one_time_weibull(
                part[0], np.exp(part[1]), part[3][:, None], part[4][:, None], rate[rows][:, None]
            )
            own = np.where(best.now_until >= 0.0, 0.0, best.wait)
        age = _lowest(ages, costs, never, failing)
        out["age"][rows] = np.where(age > NEVER, np.inf, age)
        own = np.where(own > NEVER, np.inf, own)
        out["low"][rows], out["high"][rows] = quantiles(own, part[2], (_TAIL, 1.0 - _TAIL))
    return Advice(**out)


def best_given_alive(
    shape: Floats,
    log_scale: Floats,
    weight: Floats,
    planned: Floats,
    failure: Floats,
    rate: Floats,
    which: Whole,
    age: Floats,
) -> Floats:
    """Best age of units that have lived to `age` already: that age, a later one, or infinite.

    `which`: row of drawn lives of each unit. A draw counts with the chance that a unit lives so
    long under it, so what is left costs the same but for a constant, whatever the age: one table
    of costs a row, of which only ages still to come count.
    """
    best = np.empty(age.size)
    rows, place = np.unique(which, return_inverse=True)
    ages = _ages(log_scale[rows], weight[rows])
    youngest = np.full(rows.size, np.inf)
    np.minimum.at(youngest, place, age)
    begin = _node_below(ages, np.arange(rows.size), youngest)
    # Rows that begin at about the same node are worked on together.
    order = np.argsort(begin, kind="stable")
    rank = np.empty(rows.size, np.int64)
    rank[order] = np.arange(rows.size)
    place = rank[place]
    for block in _blocks(rows.size):
        some = rows[order[block]]
        ages, costs, never = _once(
            shape[some],
            log_scale[some],
            weight[some],
            planned[some],
            failure[some],
            rate[some],
            _from(int(begin[order[block]].min())),
        )
        mine = np.flatnonzero((place >= block.start) & (place < block.stop))
        best[mine] = _from_there(ages, costs, never, place[mine] - block.start, age[mine])
    return best


def _node_below(ages: Floats, row: Whole, age: Floats) -> Whole:
    """The last node of the grid of a row at or below an age, the last but one at most."""
    last = ages.shape[1] - 1
    at = np.clip(np.log(age / ages[row, 0]) / np.log(_GRID[1] / _GRID[0]), 0.0, last)
    return np.asarray(np.minimum(at.astype(np.int64), last - 1))


def _from_there(ages: Floats, costs: Floats, never: Floats, row: Whole, age: Floats) -> Floats:
    """The age of the lowest cost from each unit's age on, or infinite."""
    last = costs.shape[1] - 1
    # lowest cost at each node or later, and where it is
    least = np.minimum.accumulate(costs[:, ::-1], axis=1)[:, ::-1]
    first = np.where(costs <= least, np.arange(last + 1), last + 1)
    where = np.minimum.accumulate(first[:, ::-1], axis=1)[:, ::-1]
    at = np.clip(np.log(age / ages[row, 0]) / np.log(_GRID[1] / _GRID[0]), 0.0, last)
    left = np.minimum(at.astype(np.int64), last - 1)
    part = at - left
    now = costs[row, left] * (1.0 - part) + costs[row, left + 1] * part
    after = np.minimum(np.ceil(at).astype(np.int64), last)
    later = least[row, after]
    best = np.where(now <= later, age, np.maximum(ages[row, where[row, after]], age))
    return np.where(np.minimum(now, later) < never[row], best, np.inf)


def _classic(
    shape: Floats, log_scale: Floats, weight: Floats, planned: Floats, failure: Floats
) -> tuple[Floats, Floats, Floats]:
    """Ages (rows, grid), expected cost per unit of age at each, and of never replacing."""
    table, ages = CostTable(shape), _ages(log_scale, weight)
    share = weight * np.exp(-log_scale)
    costs = np.empty(ages.shape)
    for n in range(ages.shape[1]):
        at = np.log(ages[:, n])[:, None] - log_scale
        alive = table.survival(at)
        each = (planned[:, None] * alive + failure[:, None] * (1.0 - alive)) / table.lived(at)
        costs[:, n] = (share * each).sum(axis=1)
    never = failure * (share / mean_life(shape, 1.0)).sum(axis=1)
    return ages, costs, never


def _once(
    shape: Floats,
    log_scale: Floats,
    weight: Floats,
    planned: Floats,
    failure: Floats,
    rate: Floats,
    search: "_Search",
) -> tuple[Floats, Floats, Floats]:
    """The same for what is left, less what running on from new for ever at `rate` would cost;
    infinite at nodes that the search leaves out.
    """
    table, ages = CostTable(shape), _ages(log_scale, weight)
    scale, row = np.exp(log_scale), np.arange(len(ages))

    def cost(node: Whole) -> Floats:
        at = np.log(ages[row, node])[:, None] - log_scale
        alive = table.survival(at)
        each = planned[:, None] * alive + failure[:, None] * (1.0 - alive)
        total = (weight * (each - rate[:, None] * table.lived(at) * scale)).sum(axis=1)
        return np.asarray(total)

    costs = search(cost, len(ages))
    never = failure - rate * (weight * mean_life(shape, 1.0) * scale).sum(axis=1)
    return ages, costs, never


_Cost = Callable[[Whole], Floats]  # cost of each row at a node of its own
_Search = Callable[[_Cost, int], Floats]


def _near_lowest(cost: _Cost, rows: int) -> Floats:
    """Costs (rows, grid) at every third node, and at all near the two lowest dips of those.

    Averaged over draws, costs have no dip narrower than three nodes, a fifth of an age; so the
    lowest of all is among them.
    """
    last, row = _GRID.size - 1, np.arange(rows)
    out = np.full((rows, _GRID.size), np.inf)
    coarse = np.unique(np.append(np.arange(0, last, _STRIDE), last))
    for node in coarse:
        out[:, node] = cost(np.full(rows, node))
    seen = out[:, coarse]
    edge = np.full((rows, 1), np.inf)
    dip = (seen <= np.hstack([edge, seen[:, :-1]])) & (seen <= np.hstack([seen[:, 1:], edge]))
    dips = np.where(dip, seen, np.inf)
    for _ in range(2):
        best = dips.argmin(axis=1)
        there = np.flatnonzero(np.isfinite(dips[row, best]))
        if there.size == 0:
            break
        for step in (*range(1 - _STRIDE, 0), *range(1, _STRIDE)):
            node = np.clip(coarse[best] + step, 0, last)
            out[row, node] = cost(node)
        dips[row, best] = np.inf
    return out


def _from(first: int) -> _Search:
    """Costs at every node from one on."""

    def search(cost: _Cost, rows: int) -> Floats:
        out = np.full((rows, _GRID.size), np.inf)
        for node in range(first, _GRID.size):
            out[:, node] = cost(np.full(rows, node))
        return out

    return search


def _ages(log_scale: Floats, weight: Floats) -> Floats:
    middle = np.exp((weight * log_scale).sum(axis=1) / weight.sum(axis=1))
    return np.asarray(middle[:, None] * _GRID)


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
    step = np.log(_GRID[1] / _GRID[0])
    age = ages[rows, place] * np.exp(np.clip(shift, -1.0, 1.0) * step)
    pays = never - costs.min(axis=1) > LEAST_SAVING * failing
    return np.where(pays, age, np.inf)


def _blocks(count: int) -> list[slice]:
    return [slice(first, min(first + _AT_ONCE, count)) for first in range(0, count, _AT_ONCE)]
