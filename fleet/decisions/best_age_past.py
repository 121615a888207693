"""The best age of units that have outlived the best age from new: now, later or never.

METHODS: best-age-by-draws
"""

import numpy as np

from fleet.decisions.left_to_pay import GRID, STRIDE, LeftToPay, blocks, from_node, grid_ages
from fleet.decisions.weibull_life import Floats, Whole

_CLEAR = 0.01  # of a failure's cost: now is best by so much at a first look, or all is looked at


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
    # Rows whose units begin at about the same node are worked on together.
    youngest = np.full(rows.size, np.inf)
    np.minimum.at(youngest, place, age)
    begin = _node_below(grid_ages(log_scale[rows], weight[rows]), np.arange(rows.size), youngest)
    order = np.argsort(begin, kind="stable")
    rank = np.empty(rows.size, np.int64)
    rank[order] = np.arange(rows.size)
    place = rank[place]
    for block in blocks(rows.size):
        some = rows[order[block]]
        left = LeftToPay.of(
            shape[some], log_scale[some], weight[some], planned[some], failure[some], rate[some]
        )
        mine = np.flatnonzero((place >= block.start) & (place < block.stop))
        first = int(begin[order[block]].min())
        best[mine] = _still_to_come(left, place[mine] - block.start, age[mine], first)
    return best


def _still_to_come(left: "LeftToPay", row: Whole, age: Floats, first: int) -> Floats:
    """Best ages of units that have lived to `age`, from costs at nodes from `first` on.

    For most it is plain from every third node that now is best; the others get every node.
    """
    now = left.at(row, age)
    rough = np.where(
        left.ages[row] >= age[:, None], left.costs(from_node(first, STRIDE))[row], np.inf
    )
    least = np.minimum(rough.min(axis=1), left.never[row])
    unclear = np.flatnonzero(~(now + _CLEAR * left.failure[row] < least))
    best = age.copy()
    if unclear.size:
        rows, mine = np.unique(row[unclear], return_inverse=True)
        fine = left.take(rows)
        costs = fine.costs(from_node(first, 1))
        best[unclear] = _from_there(fine.ages, costs, fine.never, mine, age[unclear])
    return best


def _node_below(ages: Floats, row: Whole, age: Floats) -> Whole:
    """The last node of the grid of a row at or below an age, the last but one at most."""
    last = ages.shape[1] - 1
    at = np.clip(np.log(age / ages[row, 0]) / np.log(GRID[1] / GRID[0]), 0.0, last)
    return np.asarray(np.minimum(at.astype(np.int64), last - 1))


def _from_there(ages: Floats, costs: Floats, never: Floats, row: Whole, age: Floats) -> Floats:
    """The age of the lowest cost from each unit's age on, or infinite."""
    last = costs.shape[1] - 1
    # lowest cost at each node or later, and where it is
    least = np.minimum.accumulate(costs[:, ::-1], axis=1)[:, ::-1]
    first = np.where(costs <= least, np.arange(last + 1), last + 1)
    where = np.minimum.accumulate(first[:, ::-1], axis=1)[:, ::-1]
    at = np.clip(np.log(age / ages[row, 0]) / np.log(GRID[1] / GRID[0]), 0.0, last)
    left = np.minimum(at.astype(np.int64), last - 1)
    part = at - left
    now = costs[row, left] * (1.0 - part) + costs[row, left + 1] * part
    after = np.minimum(np.ceil(at).astype(np.int64), last)
    later = least[row, after]
    best = np.where(now <= later, age, np.maximum(ages[row, where[row, after]], age))
    return np.where(np.minimum(now, later) < never[row], best, np.inf)
