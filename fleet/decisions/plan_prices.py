"""What an hour and a unit of money are worth in each month of a plan, and a bound by them.

With a price on hours and money, and each set-up shared evenly by as many jobs as a month can hold,
every job may choose its month by itself: what all pay so, less what the limits are worth, is a cost
below which no plan lies, whatever the prices (Lagrange; Geoffrion 1974, Mathematical Programming
Study 2:82-114). The best prices make that the linear relaxation of plan_problem.py. They are found
by climbing the same sum with its least taken softly, so that it is smooth. METHODS: plan
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from fleet.decisions.plan_problem import Problem
from fleet.decisions.weibull_life import Floats, Whole

_SOFT = (10.0, 2.0, 0.5)  # how softly the least is taken, in parts of the tolerance of a job
_FEW = 500  # jobs of which all are looked at
_STEPS = 80  # of the climb, at the most, for each
_CLOSED = 1e12  # a month that holds no job of its model
_FIRST = 2.0  # times the room of the plan: as many jobs of the greatest saving are looked at first
_IN_DOUBT = 6.0  # softnesses by which a job may prefer its month and still be looked at again


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Prices:
    """`job` and `setup` (models, all months): what one job and getting ready cost there in hours
    and money at the prices, on top of what they cost anyway. `value` of each job: the least it
    can pay, its part of getting ready included, and the `margin` by which it pays less after the
    plan than within it. `worth` of the limits; `bound`: no plan costs less.
    """

    job: Floats
    setup: Floats
    value: Floats
    margin: Floats
    worth: float
    bound: float

    def near(self) -> Whole:
        """Jobs that come within the plan at the prices, and half as many again that nearly do."""
        within = int((self.margin < 0.0).sum())
        many = within + within // 2 + _FEW
        return np.sort(np.argsort(self.margin, kind="stable")[:many])


def prices_of(problem: Problem, *, tolerance: float) -> Prices:
    """Prices for a plan of which `tolerance` in all is near enough."""
    climb = _Climb(problem)
    price = np.zeros(climb.room.size)
    every = np.arange(problem.model.size)
    each = tolerance / max(every.size, 1)
    if price.size:
        rows = climb.first()
        for soft in _SOFT:
            price = climb.up(price, soft * each, rows)
            paid = climb.paid(price, every)
            within = paid[:, : problem.months].min(axis=1)
            # jobs that come after the plan whatever the prices do from here move none of them
            rows = within - paid[:, problem.months :].min(axis=1) < _IN_DOUBT * soft * each
            rows = np.flatnonzero(rows)
    paid = climb.paid(price, every)
    within, after = (part.min(axis=1) for part in np.split(paid, [problem.months], axis=1))
    value, worth = np.minimum(within, after), float(price @ climb.room)
    job, setup = climb.split(price)
    return Prices(
        job=job, setup=setup, value=value, margin=within - after, worth=worth,
        bound=float(value.sum()) - worth,
    )  # fmt: skip


class _Climb:
    """The sum to be made great, of a problem."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        most = problem.most(np.ones(problem.model.size))
        share = np.divide(1.0, most, out=np.zeros_like(most), where=most > 0.0)
        closed = np.where(most > 0.0, 0.0, _CLOSED)
        self.cost = problem.cost + (problem.setup_cost * share + closed)[problem.model]
        self.limits = [
            (np.flatnonzero(np.isfinite(room)), room, each, first, share)
            for room, each, first in (
                (problem.capacity, problem.hours, problem.setup_hours),
                (problem.purse, problem.spend, problem.setup_cost),
            )
        ]
        self.room = np.concatenate([room[at] for at, room, *_ in self.limits])
        # prices of about one where an hour is worth an hour's part of a job
        spend = problem.spend[problem.model].mean() if problem.model.size else 1.0
        self.scale = np.concatenate(
            [np.full(at.size, spend / np.median(each)) for at, _, each, *_ in self.limits]
        )
        self.unit = spend

    def first(self) -> Whole:
        """The jobs that save most for what they take, some times as many as there is room for."""
        problem, model = self.problem, self.problem.model
        takes = np.zeros(model.size)
        for _, room, each, *_ in self.limits:
            if room.sum() > 0.0:
                takes = np.maximum(takes, (each / room.sum())[model])
        within = problem.cost[:, : problem.months].min(axis=1)
        saves = problem.cost[:, problem.months :].min(axis=1) - within
        order = np.argsort(-saves / np.maximum(takes, 1e-12), kind="stable")
        return np.sort(order[np.cumsum(takes[order]) <= _FIRST])

    def taken(self) -> Iterator[tuple[slice, Whole, Floats]]:
        """Where the prices of each limit stand, its months, and what a job takes of it with its
        part of getting ready.
        """
        first = 0
        for at, _, each, setup, share in self.limits:
            yield slice(first, first + at.size), at, (each[:, None] + setup * share)[:, at]
            first += at.size

    def paid(self, price: Floats, rows: Whole) -> Floats:
        """What each job pays in each month."""
        more = np.zeros((self.problem.models, self.cost.shape[1]))
        for where, at, each in self.taken():
            more[:, at] += each * price[where]
        return np.asarray(self.cost[rows] + more[self.problem.model[rows]])

    def split(self, price: Floats) -> tuple[Floats, Floats]:
        """What a job and getting ready pay at the prices, apart."""
        job, setup = (np.zeros((self.problem.models, self.cost.shape[1])) for _ in range(2))
        first = 0
        for at, _, each, ready, _ in self.limits:
            mine = price[first : first + at.size]
            job[:, at] += each[:, None] * mine
            setup[:, at] += ready * mine
            first += at.size
        return job, setup

    def up(self, price: Floats, soft: float, rows: Whole) -> Floats:
        """Better prices, by the jobs of `rows`: the others' room is theirs."""
        if not rows.size:
            return price
        problem = self.problem
        rows = rows[np.argsort(problem.model[rows], kind="stable")]
        model = problem.model[rows]
        begins = np.flatnonzero(np.concatenate(([True], np.diff(model) > 0)))

        def slope(scaled: Floats) -> tuple[float, Floats]:
            now = scaled * self.scale
            share = self.paid(now, rows)
            least = share.min(axis=1)
            share -= least[:, None]
            share *= -1.0 / soft
            np.exp(share, out=share)
            every = share.sum(axis=1)
            share /= every[:, None]
            jobs = np.zeros((problem.models, self.cost.shape[1]))
            jobs[model[begins]] = np.add.reduceat(share, begins, axis=0)
            wanted = np.concatenate(
                [(jobs[:, at] * each).sum(axis=0) for _, at, each in self.taken()]
            )
            total = float((least - soft * np.log(every)).sum() - now @ self.room)
            return -total / self.unit, (self.room - wanted) * self.scale / self.unit

        found = minimize(
            slope, price / self.scale, jac=True, method="L-BFGS-B",
            bounds=[(0.0, None)] * price.size, options={"maxiter": _STEPS, "maxcor": 20},
        )  # fmt: skip
        return np.asarray(found.x * self.scale)
