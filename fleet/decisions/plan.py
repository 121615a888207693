"""Due units to jobs in months, within the hours of the bench and a budget.

METHODS: plan
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from fleet.decisions.plan_greedy import into_room, plan_by_date
from fleet.decisions.plan_months import Month
from fleet.decisions.plan_problem import Problem, Solution
from fleet.decisions.plan_solver import solve
from fleet.decisions.weibull_life import Floats, Mask, Whole
from fleet.errors import BadFrame

TOLERANCE = 0.002  # of what all jobs cost: a plan that near the best possible is near enough
REACH = 3  # months beyond the plan whose units may be brought forward
FORWARD = 12  # months that a job may be done before its due date; a rule of ours
_WORTH_MOVING = 0.002  # of a job's cost: when a month is lost, no job moves for less

# What `make_plan` reads: one row for each unit that is due.
DUE_JOBS = pl.Schema(
    {
        "unit": pl.String(),
        "model": pl.String(),
        "due_on": pl.Date(),
        "p_fail": pl.Float64(),
        "hours": pl.Float64(),  # at the bench
        "planned_cost": pl.Float64(),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What the bench can do in a month; None for no limit.

    `setup_hours` go on getting ready once for each model in each month, at `labour_rate`.
    """

    hours: float | None = None
    budget: float | None = None
    setup_hours: float = 0.0
    labour_rate: float = 0.0

    @property
    def setup_cost(self) -> float:
        """Of getting ready once."""
        return self.setup_hours * self.labour_rate


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Placed:
    """Jobs in months. `month` of each row (index into `months`, or beyond them), the `problem` it
    solves, its cost and bound, what taking jobs by date alone is expected to cost, what each
    month costs a job above its best, and the day before which it cannot be done.
    """

    jobs: pl.DataFrame
    months: Sequence[Month]
    problem: Problem
    solution: Solution
    by_date: float
    above_best: Floats
    not_before: pl.Series  # first day of each job

    @property
    def month(self) -> Whole:
        """Month of each job."""
        return self.solution.month

    @property
    def planned(self) -> Mask:
        """Which jobs found a month, as a mask."""
        return np.asarray(self.month < len(self.months))

    @property
    def moving(self) -> Floats:
        """What it costs each job not to be in its best month."""
        return np.asarray(self.above_best[np.arange(self.month.size), self.month])

    @property
    def expected(self) -> float:
        """What the plan is expected to cost above every job in its best month for nothing: waiting
        and getting ready, without what is added to steer the program (Problem.cost).
        """
        return _expected(self.problem, self.above_best, self.month)


def _expected(problem: Problem, above_best: Floats, month: Whole) -> float:
    waits = float(above_best[np.arange(month.size), month].sum())
    return waits + problem.setup_cost * float(problem.sessions(month).sum())


def place_jobs(
    jobs: pl.DataFrame,
    moving: Floats,
    months: Sequence[Month],
    bench: Bench,
    *,
    not_before: pl.Series | None = None,
) -> Placed:
    """The cheapest plan for DUE_JOBS.

    `moving` (jobs, months and those beyond): what each month costs above the job's best.
    `not_before`: a day for each job before which it cannot be done, as its parts are not there;
    null or none for any day. Raises BadFrame where they do not fit together.
    """
    if not_before is None:
        not_before = pl.repeat(None, jobs.height, dtype=pl.Date, eager=True)
    if not_before.len() != jobs.height:
        raise BadFrame("days before which jobs cannot be done need one for each job")
    if moving.shape[0] != jobs.height or moving.shape[1] <= len(months):
        raise BadFrame("costs of moving need a row for each job and a column beyond the months")
    due = _due_month(jobs, months, moving.shape[1])
    cost = moving.copy()
    # months beyond the plan have no limits: without a set-up of its own there for each due job
    # left over, they would draw jobs away from months that have room
    cost[due < len(months), len(months) :] += bench.setup_cost
    # parts with years to go stay in: no saved set-up is worth a whole recap
    early = np.arange(cost.shape[1])[None, :] < due[:, None] - FORWARD
    cost += np.where(early, jobs["planned_cost"].to_numpy()[:, None], 0.0)
    waits = _waits(not_before, months, moving.shape[1])
    # more than leaving a job for after the plan can cost, so that no plan does it
    never = 2.0 * (
        moving.max(axis=1, initial=0.0) + jobs["planned_cost"].to_numpy() + bench.setup_cost
    )
    cost += np.where(waits, never[:, None], 0.0)
    problem = _problem(jobs, cost, months, bench)
    order = jobs.with_row_index("row").sort(
        "due_on", "p_fail", "unit", descending=[False, True, False]
    )["row"]
    start = plan_by_date(problem, order.to_numpy(), np.maximum(due, waits.sum(axis=1)))
    tolerance = TOLERANCE * float(jobs["planned_cost"].sum())
    return Placed(
        jobs=jobs,
        months=months,
        problem=problem,
        solution=solve(problem, start=start, tolerance=max(tolerance, 1e-6)),
        by_date=_expected(problem, moving, start),
        above_best=moving,
        not_before=not_before,
    )


def lose_month(placed: Placed, lost: int) -> Placed:
    """The plan anew when a month has no hours, with no more changes than pay."""
    problem = placed.problem
    capacity = problem.capacity.copy()
    capacity[lost] = 0.0
    anew = replace(problem, capacity=capacity)
    rows = np.arange(placed.month.size)
    nuisance = np.repeat(_WORTH_MOVING * problem.spend[problem.model][:, None],
                         problem.cost.shape[1], axis=1)  # fmt: skip
    nuisance[rows, placed.month] = 0.0
    start = into_room(anew, placed.month, np.flatnonzero(placed.month == lost))
    tolerance = max(TOLERANCE * float(problem.spend[problem.model].sum()), 1e-6)
    held = solve(replace(anew, cost=problem.cost + nuisance), start=start, tolerance=tolerance)
    solution = Solution(month=held.month, cost=anew.total(held.month), bound=placed.solution.bound)
    return replace(placed, problem=anew, solution=solution)


def fullest(placed: Placed) -> int | None:
    """The month with the most hours at the bench, the first of several; None without jobs."""
    if not placed.planned.any():
        return None
    hours, _ = placed.problem.used(placed.month)
    return int(hours.argmax())


def _problem(jobs: pl.DataFrame, moving: Floats, months: Sequence[Month], bench: Bench) -> Problem:
    models = jobs.group_by("model").agg(pl.col("hours", "planned_cost").first()).sort("model")
    number = jobs["model"].replace_strict(
        models["model"], range(models.height), return_dtype=pl.Int64
    )
    share = np.array([month.share for month in months])

    def room(each: float | None) -> Floats:
        return share * each if each is not None else np.full(share.size, np.inf)

    return Problem(
        cost=moving,
        model=number.to_numpy().astype(np.int64),
        hours=models["hours"].to_numpy(),
        spend=models["planned_cost"].to_numpy(),
        capacity=room(bench.hours),
        purse=room(bench.budget),
        setup_hours=bench.setup_hours,
        setup_cost=bench.setup_cost,
    )


def _waits(not_before: pl.Series, months: Sequence[Month], columns: int) -> Mask:
    """The months that end before each job can be done, (jobs, columns)."""
    ends = np.array([month.last for month in months], dtype="datetime64[D]")
    after = np.searchsorted(ends, not_before.fill_null(months[0].first).to_numpy(), side="left")
    return np.asarray(np.arange(columns)[None, :] < after[:, None])


def _due_month(jobs: pl.DataFrame, months: Sequence[Month], columns: int) -> Whole:
    """The month that a due date falls in; the last column for later ones."""
    ends = np.array([month.last for month in months], dtype="datetime64[D]")
    after = np.searchsorted(ends, jobs["due_on"].to_numpy(), side="left")
    return np.minimum(after, columns - 1)
