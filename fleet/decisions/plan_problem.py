"""A plan as a program in whole numbers: which job in which month, and which models are set up.

Jobs i have a model p(i) and months m, the last of them beyond the plan and without limits:

    least   Σ c[i,m] x[i,m] + setup_cost Σ y[p,m]
    where   Σ_m x[i,m] = 1
            Σ_i hours[p(i)] x[i,m] + setup_hours Σ_p y[p,m] <= capacity[m]
            Σ_i spend[p(i)] x[i,m] + setup_cost Σ_p y[p,m] <= purse[m]
            Σ_{i of p} x[i,m] <= most[p,m] y[p,m],  x and y 0 or 1

with most[p,m] as many jobs of the model as a month can hold. METHODS: plan
"""

from dataclasses import dataclass

import numpy as np

from fleet.decisions.weibull_life import Floats, Whole

_ROOM = 1e-9  # hours or money that rounding may cost


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Problem:
    """`cost` (jobs, months) above the job's best month; `model` of each job; `hours` and `spend`
    one a model; `capacity` (hours) and `purse` (money) one for each month of the plan, infinite
    for no limit: further columns of `cost` are months beyond it.
    """

    cost: Floats
    model: Whole
    hours: Floats
    spend: Floats
    capacity: Floats
    purse: Floats
    setup_hours: float = 0.0
    setup_cost: float = 0.0

    @property
    def months(self) -> int:
        """Months of the plan."""
        return int(self.capacity.size)

    @property
    def models(self) -> int:
        """How many models there are."""
        return int(self.hours.size)

    def most(self, many: Floats) -> Floats:
        """Jobs of each model that a month can hold, (models, months and those beyond).

        `many`: how many jobs each row of the problem stands for.
        """
        count = np.bincount(self.model, weights=many, minlength=self.models).astype(np.float64)
        most = np.repeat(count[:, None], self.cost.shape[1], axis=1)
        for room, first, each in (
            (self.capacity, self.setup_hours, self.hours),
            (self.purse, self.setup_cost, self.spend),
        ):
            with np.errstate(divide="ignore", invalid="ignore"):
                fit = np.floor((room[None, :] - first + _ROOM) / each[:, None])
            fit = np.where(np.isnan(fit), np.inf, np.maximum(fit, 0.0))
            most[:, : self.months] = np.minimum(most[:, : self.months], fit)
        return np.asarray(most, dtype=np.float64)

    def sessions(self, month: Whole) -> Floats:
        """1 for each model that is set up in each month, (models, all months)."""
        at_work = np.zeros((self.models, self.cost.shape[1]))
        at_work[self.model, month] = 1.0
        return at_work

    def total(self, month: Whole) -> float:
        """What a plan costs above every job in its best month for nothing."""
        moved = self.cost[np.arange(month.size), month].sum()
        return float(moved + self.setup_cost * self.sessions(month).sum())

    def used(self, month: Whole) -> tuple[Floats, Floats]:
        """Hours and money of each month of the plan."""
        at_work = self.sessions(month).sum(axis=0)[: self.months]
        size = self.cost.shape[1]
        hours = np.bincount(month, weights=self.hours[self.model], minlength=size)
        money = np.bincount(month, weights=self.spend[self.model], minlength=size)
        return (
            hours[: self.months] + self.setup_hours * at_work,
            money[: self.months] + self.setup_cost * at_work,
        )

    def fits(self, month: Whole) -> bool:
        """Whether a plan keeps within hours and money."""
        hours, money = self.used(month)
        return bool(np.all(hours <= self.capacity + 1e-6) and np.all(money <= self.purse + 1e-6))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Solution:
    """`month` of each job, what that costs (Problem.total), and a `bound` no plan is below."""

    month: Whole
    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """How much dearer than the best possible plan it may be."""
        return max(0.0, self.cost - self.bound)
