"""How many of some units fail before days of their own, with limits.

METHODS: plan, expected-failures
"""

from dataclasses import dataclass

import numpy as np

from fleet.decisions.count_limits import count_limits
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.expected_failures import meet
from fleet.decisions.failing_sums import levelled
from fleet.decisions.forecast import Units, unit_law
from fleet.decisions.weibull_life import Floats, Whole

_AT_ONCE = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Failures expected among `units`, and limits of their number."""

    units: int
    expected: float
    low: float
    high: float


class _ByKey:
    """Adds up rows of the same key, all at once: numpy's add.at goes number by number."""

    def __init__(self, key: Whole) -> None:
        self.order = np.argsort(key, kind="stable")
        ranked = key[self.order]
        self.first = np.flatnonzero(np.diff(ranked, prepend=-1))
        self.key = ranked[self.first]

    def to(self, sums: Floats, rows: Floats) -> None:
        """Into a view of `sums`, a row a key."""
        sums[self.key] += np.add.reduceat(rows[self.order], self.first, axis=0)


def chances_by(lives: DrawnLives, units: Units, days: Floats) -> Floats:
    """Chance of each unit to fail within its own number of days, given that it works now."""
    out = np.empty(days.size)
    for first in range(0, days.size, _AT_ONCE):
        rows = np.arange(first, min(first + _AT_ONCE, days.size))
        law = unit_law(lives, units.take(rows))
        added = law.added(law.age, law.age + days[rows][:, None])
        out[rows] = (law.weight * -np.expm1(-added)).sum(axis=1)
    return out


def failing_by(
    lives: DrawnLives, units: Units, model: Whole, days: Floats, alive: Floats, *, level: float
) -> Count:
    """Failures within the days of each unit, of those that live (with the chance `alive`).

    `model` numbers the models from 0: draws are joint within one. Limits are whole numbers with at
    most (1 - level) / 2 of the foretold chance beyond each, luck included.
    """
    count = int(model.max(initial=-1)) + 1
    if not count:
        return Count(units=0, expected=0.0, low=0.0, high=0.0)
    shape = (2, count, lives.draws)  # first: units whose own law is in no doubt
    mean, squares, likely = (np.zeros(shape) for _ in range(3))
    counted, weight = np.zeros((2, count)), np.full((count, lives.draws), 1.0 / lives.draws)
    order = np.argsort(model, kind="stable")
    for first in range(0, order.size, _AT_ONCE):
        rows = order[first : first + _AT_ONCE]
        law = unit_law(lives, units.take(rows), place=first)
        base = lives.weight[units.cell[rows]]
        base = base / base.sum(axis=1, keepdims=True)
        doubt = np.divide(law.weight, base, out=np.ones_like(base), where=base > 0.0)
        own = (np.abs(doubt - 1.0) > 1e-9).any(axis=1).astype(int)
        fails = -np.expm1(-law.added(law.age, law.age + days[rows][:, None]))
        tilted = alive[rows][:, None] * fails * doubt
        expected = alive[rows] * (law.weight * fails).sum(axis=1)
        add = _ByKey(own * count + model[rows])
        add.to(mean.reshape(2 * count, -1), tilted)
        add.to(squares.reshape(2 * count, -1), tilted**2)
        add.to(likely.reshape(2 * count, -1), expected[:, None] * doubt)
        add.to(counted.reshape(2 * count), expected)
        weight[model[rows]] = base
    doubted = levelled(mean[1][:, None, :], likely[1], counted[1], weight)[:, 0, :]
    moved = np.divide(doubted, mean[1], out=np.ones_like(doubted), where=mean[1] > 0.0)
    sums = mean[0] + doubted
    twice = np.minimum(squares[0] + squares[1] * moved**2, sums)
    every, even = meet(sums[:, None, :], weight)
    both, _ = meet(twice[:, None, :], weight)
    low, high = count_limits(every, both, even, level)
    return Count(
        units=int(order.size),
        expected=float(counted.sum()),
        low=float(low[0]),
        high=float(high[0]),
    )
