"""The program of plan_problem.py as HiGHS reads it.

METHODS: plan
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from fleet.decisions.plan_problem import Problem
from fleet.decisions.plan_quiet import quiet_stdout
from fleet.decisions.weibull_life import Floats, Whole

_SECONDS = 60.0  # a stop for machines that are busy; what it leaves open is in the bound
_TIGHTEST = 1e-6  # relative gap below which rounding rules


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Found:
    """The `share` of each row in each month (None: nothing found), `sessions` (models, months) that
    are open, and the bound below which no plan's cost lies.
    """

    share: Floats | None
    sessions: Floats | None
    bound: float


def run_program(
    problem: Problem,
    many: Floats,
    *,
    whole: bool | None,
    tolerance: float,
    best: float,
    nodes: int,
    sessions: Floats | None = None,
) -> Found:
    """Solve it. `many`: jobs that each row of `problem` stands for.

    `whole`: no job is split over months (None: neither jobs nor setting up is whole, only the
    bound is asked for). `best`: cost of a plan known already. `sessions`: models are set up then,
    and only then.
    """
    places = _Places.of(problem, many, sessions)
    cost = np.concatenate((
        problem.cost[places.job, places.month],
        np.full(places.open_model.size, problem.setup_cost if sessions is None else 0.0),
    ))  # fmt: skip
    fixed = 0.0 if sessions is None else problem.setup_cost * float(sessions.sum())
    with quiet_stdout():
        result = milp(
            cost,
            constraints=_limits(problem, many, places, sessions),
            integrality=np.concatenate((
                np.full(places.job.size, int(whole or False)),
                np.full(places.open_model.size, int(whole is not None)),
            )),
            bounds=Bounds(0.0, np.concatenate((places.room, np.ones(places.open_model.size)))),
            options={
                "mip_rel_gap": max(_TIGHTEST, tolerance / max(best - fixed, tolerance)),
                "node_limit": nodes,
                "time_limit": _SECONDS,
            },
        )  # fmt: skip
    bound = getattr(result, "mip_dual_bound", None)
    if whole is None:
        bound = result.fun if result.status == 0 else None
    bound = fixed + bound if bound is not None and np.isfinite(bound) else 0.0
    if result.x is None:
        return Found(share=None, sessions=None, bound=bound)
    share = np.zeros(problem.cost.shape)
    share[places.job, places.month] = result.x[: places.job.size]
    if sessions is None:
        sessions = np.zeros((problem.models, problem.cost.shape[1]))
        sessions[places.open_model, places.open_month] = np.round(result.x[places.job.size :])
    return Found(share=share, sessions=sessions, bound=bound)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Places:
    """Where jobs may go: pairs of a job and a month, the `room` of each, and the models and months
    that may be set up; `most` as in the problem.
    """

    job: Whole
    month: Whole
    room: Floats
    open_model: Whole
    open_month: Whole
    most: Floats

    @classmethod
    def of(cls, problem: Problem, many: Floats, sessions: Floats | None) -> "_Places":
        most = problem.most(many)
        may = most[problem.model] > 0.0
        if sessions is not None:
            may &= sessions[problem.model] > 0.0
        job, month = np.nonzero(may)
        free = problem.setup_hours == 0.0 and problem.setup_cost == 0.0
        set_up = np.zeros_like(most) if free or sessions is not None else most
        open_model, open_month = np.nonzero(set_up > 0.0)
        return cls(
            job=job,
            month=month,
            room=np.minimum(many[job], most[problem.model[job], month]),
            open_model=open_model,
            open_month=open_month,
            most=most,
        )


def _limits(
    problem: Problem, many: Floats, places: _Places, sessions: Floats | None
) -> list[LinearConstraint]:
    jobs, opened = places.job.size, places.open_model.size
    columns, openings = np.arange(jobs), jobs + np.arange(opened)

    def rows(data: Floats, row: Whole, column: Whole, count: int) -> sparse.csr_array:
        return sparse.csr_array((data, (row, column)), shape=(count, jobs + opened))

    every = rows(np.ones(jobs), places.job, columns, many.size)
    found = [LinearConstraint(every, many, many)]
    model = problem.model[places.job]
    for room, each, first in (
        (problem.capacity, problem.hours, problem.setup_hours),
        (problem.purse, problem.spend, problem.setup_cost),
    ):
        if np.isinf(room).all():
            continue
        mine, theirs = places.month < problem.months, places.open_month < problem.months
        if sessions is not None:
            room = room - first * sessions.sum(axis=0)[: problem.months]
        used = rows(
            np.concatenate((each[model[mine]], np.full(int(theirs.sum()), first))),
            np.concatenate((places.month[mine], places.open_month[theirs])),
            np.concatenate((columns[mine], openings[theirs])),
            problem.months,
        )
        found.append(LinearConstraint(used, -np.inf, room))
    if not opened:
        return found
    place = np.full(places.most.shape, -1)
    place[places.open_model, places.open_month] = np.arange(opened)
    of = place[model, places.month]
    together = rows(
        np.concatenate((np.ones(jobs), -places.most[places.open_model, places.open_month])),
        np.concatenate((of, np.arange(opened))),
        np.concatenate((columns, openings)),
        opened,
    )
    found.append(LinearConstraint(together, -np.inf, 0.0))
    if np.isinf(problem.capacity).all() and np.isinf(problem.purse).all():
        # nothing but setting up ties jobs together: each pair by itself bounds it much better
        pairs = rows(
            np.concatenate((np.ones(jobs), -places.room)),
            np.concatenate((columns, columns)),
            np.concatenate((columns, jobs + of)),
            jobs,
        )
        found.append(LinearConstraint(pairs, -np.inf, 0.0))
    return found
