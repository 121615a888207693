"""What is left to pay of drawn lives that are renewed at an age, on a grid of ages.

METHODS: best-age-by-draws, one-time-replacement
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.decisions.cost_table import CostTable
from fleet.decisions.weibull_life import Floats, Whole, mean_life

GRID = np.exp(np.linspace(np.log(0.03), np.log(8.0), 90))  # times the middle scale
STRIDE = 3  # nodes from one to the next that a first look takes
_AT_ONCE = 256


_Cost = Callable[[Whole], Floats]  # cost of each row at a node of its own
_Search = Callable[[_Cost, int], Floats]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LeftToPay:
    """What is left to pay of rows of drawn lives, renewed at an age, less what running on from new
    for ever at `rate` would cost. `never`: where they are not renewed until they fail.
    """

    table: CostTable
    log_scale: Floats
    weight: Floats
    planned: Floats
    failure: Floats
    rate: Floats
    ages: Floats  # (rows, grid)
    never: Floats

    @classmethod
    def of(
        cls,
        shape: Floats,
        log_scale: Floats,
        weight: Floats,
        planned: Floats,
        failure: Floats,
        rate: Floats,
    ) -> "LeftToPay":
        """Lives are (rows, draws), costs and `rate` one a row."""
        lived = (weight * mean_life(shape, 1.0) * np.exp(log_scale)).sum(axis=1)
        return cls(
            table=CostTable(shape),
            log_scale=log_scale,
            weight=weight,
            planned=planned,
            failure=failure,
            rate=rate,
            ages=grid_ages(log_scale, weight),
            never=failure - rate * lived,
        )

    def take(self, rows: Whole) -> "LeftToPay":
        """Some of the rows."""
        some = {n: getattr(self, n)[rows] for n in self.__slots__ if n != "table"}
        return LeftToPay(table=self.table.take(rows), **some)

    def at(self, row: Whole, age: Floats) -> Floats:
        """Mean cost of the rows asked for, each renewed at an age of its own."""
        return self.take(row)._renewed(age)

    def costs(self, search: _Search) -> Floats:
        """Mean cost at each node of the grid; infinite at nodes that the search leaves out."""
        row = np.arange(len(self.ages))
        return search(lambda node: self._renewed(self.ages[row, node]), row.size)

    def _renewed(self, age: Floats) -> Floats:
        at = np.log(age)[:, None] - self.log_scale
        alive = self.table.survival(at)
        # planned R + failure (1 - R) - rate L, L the life lived
        each = (self.planned - self.failure)[:, None] * alive
        each -= self.rate[:, None] * self.table.lived(at) * np.exp(self.log_scale)
        return np.asarray((self.weight * each).sum(axis=1) + self.failure)


def near_lowest(cost: _Cost, rows: int) -> Floats:
    """Costs (rows, grid) at every third node, and at all near the two lowest dips of those.

    Averaged over draws, costs have no dip narrower than three nodes, a fifth of an age; so the
    lowest of all is among them.
    """
    last, row = GRID.size - 1, np.arange(rows)
    out = np.full((rows, GRID.size), np.inf)
    coarse = np.unique(np.append(np.arange(0, last, STRIDE), last))
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
        for step in (*range(1 - STRIDE, 0), *range(1, STRIDE)):
            node = np.clip(coarse[best] + step, 0, last)
            out[row, node] = cost(node)
        dips[row, best] = np.inf
    return out


def from_node(first: int, stride: int) -> _Search:
    """Costs at every node from one on, or every so many and the last."""

    def search(cost: _Cost, rows: int) -> Floats:
        out = np.full((rows, GRID.size), np.inf)
        for node in {*range(first, GRID.size, stride), GRID.size - 1}:
            out[:, node] = cost(np.full(rows, node))
        return out

    return search


def grid_ages(log_scale: Floats, weight: Floats) -> Floats:
    """Ages (rows, grid): GRID times the middle scale of each row's draws."""
    middle = np.exp((weight * log_scale).sum(axis=1) / weight.sum(axis=1))
    return np.asarray(middle[:, None] * GRID)


def blocks(count: int) -> list[slice]:
    """Rows to be worked on together, as many as a cache holds."""
    return [slice(first, min(first + _AT_ONCE, count)) for first in range(0, count, _AT_ONCE)]
