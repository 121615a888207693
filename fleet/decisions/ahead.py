"""How long parts go on working, month by month from today, under each draw."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.forecast import UnitLaw
from fleet.decisions.set_life import SetLife
from fleet.decisions.weibull_life import Floats

STEPS_PER_YEAR = 12
STEP = DAYS_PER_YEAR / STEPS_PER_YEAR  # days
_HARDLY = 1e-9  # a chance so small that what follows does not count
LOOKED_AHEAD = 60 * STEPS_PER_YEAR  # months after which parts still working are renewed


@dataclass(frozen=True, eq=False, kw_only=True)  # no slots: sums are kept once made
class Ahead:
    """`alive`: chance to work on for so many months, (months + 1, draws), 1 at the start."""

    alive: Floats
    weight: Floats

    @classmethod
    def of_set(cls, life: SetLife) -> "Ahead":
        """Of parts of a known age."""
        months: Floats = np.arange(LOOKED_AHEAD + 1, dtype=np.float64)[:, None] * STEP
        return cls(alive=life.lasts(months), weight=life.weight)

    @classmethod
    def of_unit(cls, law: UnitLaw) -> "Ahead":
        """Of the parts in a machine that works today; `law` of that one unit."""
        alive = [
            np.exp(-law.added(law.age, law.age + n * STEP))[0] for n in range(LOOKED_AHEAD + 1)
        ]
        return cls(alive=np.array(alive), weight=law.weight[0])

    @cached_property
    def failing(self) -> Floats:
        """Chance to fail in each month, (months, draws)."""
        return np.asarray(self.alive[:-1] - self.alive[1:])

    @cached_property
    def worked(self) -> Floats:
        """Mean months worked by the end of each month, (months + 1, draws)."""
        each = (self.alive[1:] + self.alive[:-1]) / 2.0
        return np.concatenate([np.zeros((1, each.shape[1])), np.cumsum(each, axis=0)])


def left_to_pay(
    ahead: Ahead,
    planned_at: int | None,
    planned: Floats,
    failure: Floats,
    rate: Floats,
    *,
    month: int = 0,
) -> Floats:
    """What parts that have worked for `month` months since the start still cost beyond what new
    ones would, by draw: 0 for new parts, `planned` when they are due.

    With R(x) = alive, T the month of renewal: [planned R(T) + failure (R(x) - R(T)) - rate
    ∫_x^T R] / R(x), costs and `rate` (a month) by draw. METHODS: leftover
    """
    end = LOOKED_AHEAD if planned_at is None else min(planned_at, LOOKED_AHEAD)
    if month >= end:
        return planned
    here, last = ahead.alive[month], ahead.alive[end]
    left = planned * last + failure * (here - last)
    left = left - rate * (ahead.worked[end] - ahead.worked[month])
    return np.where(here > _HARDLY, left / np.maximum(here, _HARDLY), planned)


def leftover_of(
    ahead: Ahead, planned_at: int | None, planned: Floats, failure: Floats, rate: Floats, *,
    month: int,
) -> Floats:  # fmt: skip
    """What parts still working at the end of the years asked about count for: `left_to_pay`, but
    never as better than new ones.

    Parts that hardly wear out may have decades to go, worth more than all that was paid in those
    years; a machine would then seem to earn money by being there. METHODS: leftover
    """
    left = left_to_pay(ahead, planned_at, planned, failure, rate, month=month)
    return np.maximum(left, 0.0)
