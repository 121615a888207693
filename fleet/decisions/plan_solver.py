"""Months of jobs by mixed-integer programming (HiGHS, by scipy), with a bound on what is missed.

Few jobs are one program. Many are three: the bound is that of all jobs with every yes or no let go
to a share; the months in which each model is set up are those of a program in which like jobs are
taken together (up to some hundred jobs none are, and its own bound is the better one); then every
job finds its month among those.
METHODS: plan
"""

from dataclasses import replace

import numpy as np

from fleet.decisions.plan_problem import Problem, Solution
from fleet.decisions.plan_program import run_program
from fleet.decisions.weibull_life import Floats, Whole

EXACT = 1_600  # jobs times months that are solved as one program
ONE_BY_ONE = 300  # jobs up to which none are taken together
CLASSES = 120  # of like jobs, in all
_ROUNDING = 1e-6
_NODES = 20
_NODES_OF_JOBS = 40
_NODES_OF_FEW = 5_000


def solve(problem: Problem, *, start: Whole, tolerance: float) -> Solution:
    """The cheapest plan found, never dearer than `start` (a plan that keeps the limits).

    `tolerance`: how much dearer than the best possible plan, in money, is near enough.
    """
    best = Solution(month=start, cost=problem.total(start), bound=0.0)
    if not start.size:
        return best
    if _free(problem):
        cheapest = problem.cost.argmin(axis=1)
        cost = problem.total(cheapest)
        return Solution(month=cheapest, cost=cost, bound=cost)
    if problem.cost.size <= EXACT:
        return _better(best, *_one_program(problem, best, tolerance), problem)
    alone = np.ones(start.size)
    few = start.size <= ONE_BY_ONE
    if not few:
        relaxed = run_program(
            problem, alone, whole=None, tolerance=tolerance, best=best.cost, nodes=1
        )
        best = _better(best, None, relaxed.bound, problem)
    folded, many = (problem, alone) if few else _folded(problem, classes(problem, CLASSES))
    found = run_program(
        folded, many, whole=False, tolerance=tolerance / 2.0, best=best.cost, nodes=_NODES
    )
    if few:
        best = _better(best, None, found.bound, problem)
    sessions = problem.sessions(start) if found.sessions is None else found.sessions
    return _better(best, _jobs_in(problem, sessions, best.cost, tolerance), best.bound, problem)


def _jobs_in(problem: Problem, sessions: Floats, best: float, tolerance: float) -> Whole | None:
    """Month of each job where the models' sessions are settled.

    In shares this is a transport problem, in which but a few jobs (no more than there are limits)
    are split over months. The others stay; the split ones are placed whole in the room left, or
    after the plan.
    """
    found = run_program(
        problem, np.ones(problem.model.size), whole=None, tolerance=tolerance, best=best, nodes=1,
        sessions=sessions,
    )  # fmt: skip
    if found.share is None:
        return None
    month = np.asarray(found.share.argmax(axis=1))
    split = np.flatnonzero(found.share.max(axis=1) < 1.0 - _ROUNDING)
    if not split.size:
        return month
    kept = np.delete(np.arange(month.size), split)
    size = problem.cost.shape[1]
    used = [
        np.bincount(month[kept], weights=each[problem.model[kept]], minlength=size)
        for each in (problem.hours, problem.spend)
    ]
    rest = replace(
        problem,
        cost=problem.cost[split],
        model=problem.model[split],
        capacity=problem.capacity - used[0][: problem.months],
        purse=problem.purse - used[1][: problem.months],
    )
    after = sessions.copy()
    after[:, problem.months] = 1.0  # there is always room after the plan
    placed = run_program(
        rest, np.ones(split.size), whole=True, tolerance=tolerance / 4.0, best=best,
        nodes=_NODES_OF_JOBS, sessions=after,
    )  # fmt: skip
    if placed.share is None:
        return None
    month[split] = placed.share.argmax(axis=1)
    return month


def _free(problem: Problem) -> bool:
    """Whether nothing ties jobs together."""
    free = np.isinf(problem.capacity).all() and np.isinf(problem.purse).all()
    return bool(free and problem.setup_cost == 0.0)


def _one_program(problem: Problem, best: Solution, tolerance: float) -> tuple[Whole | None, float]:
    found = run_program(problem, np.ones(problem.model.size), whole=True, tolerance=tolerance,
                     best=best.cost, nodes=_NODES_OF_FEW)  # fmt: skip
    month = None if found.share is None else np.asarray(found.share.argmax(axis=1))
    return month, found.bound


def _better(best: Solution, month: Whole | None, bound: float, problem: Problem) -> Solution:
    bound = max(best.bound, bound)
    if month is not None and problem.fits(month):
        cost = problem.total(month)
        if cost < best.cost:
            return Solution(month=month, cost=cost, bound=min(bound, cost))
    return Solution(month=best.month, cost=best.cost, bound=min(bound, best.cost))


def classes(problem: Problem, most: int) -> Whole:
    """The class of each job: jobs of one model, of about one best month and one cost of moving.

    Sorted so, they are cut into runs of even length, about `most` in all, one at least a model.
    """
    size = max(1, -(-problem.model.size // most))
    order = np.lexsort((problem.cost.sum(axis=1), problem.cost.argmin(axis=1), problem.model))
    model = problem.model[order]
    first = np.searchsorted(model, model, side="left")
    run = (np.arange(model.size) - first) // size
    new = np.concatenate(([True], (np.diff(run) != 0) | (np.diff(model) != 0)))
    like = np.empty(model.size, dtype=np.int64)
    like[order] = np.cumsum(new) - 1
    return like


def _folded(problem: Problem, like: Whole) -> tuple[Problem, Floats]:
    """One row for each class, of its mean costs, and how many jobs each stands for."""
    many = np.bincount(like).astype(float)
    cost = np.zeros((many.size, problem.cost.shape[1]))
    np.add.at(cost, like, problem.cost)
    model = np.zeros(many.size, dtype=np.int64)
    model[like] = problem.model
    fields = {name: getattr(problem, name) for name in Problem.__slots__}
    return Problem(**fields | {"cost": cost / many[:, None], "model": model}), many
