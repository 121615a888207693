"""Months of jobs by mixed-integer programming (HiGHS, by scipy), with a bound on what is missed.

Few jobs are one program. Of many the hours and the money of each month get prices, which give the
bound; at those prices models are set up session by session; then every job finds its month among
the sessions. Up to some hundred jobs one program of which only the sessions are whole follows,
where the gap is still above what is near enough.
METHODS: plan
"""

from dataclasses import replace

import numpy as np

from fleet.decisions.plan_prices import prices_of
from fleet.decisions.plan_problem import Problem, Solution
from fleet.decisions.plan_program import run_program
from fleet.decisions.plan_sessions import sessions_alone, sessions_at
from fleet.decisions.plan_shares import bound_by_shares
from fleet.decisions.weibull_life import Floats, Whole

EXACT = 1_600  # jobs times months that are solved as one program
ONE_BY_ONE = 300  # jobs up to which a program of the sessions follows the prices
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
    best = _by_prices(problem, best, tolerance)
    if start.size > ONE_BY_ONE or best.gap <= tolerance:
        return best
    found = run_program(problem, np.ones(start.size), whole=False, tolerance=tolerance / 2.0,
                        best=best.cost, nodes=_NODES)  # fmt: skip
    best = _better(best, None, found.bound, problem)
    if found.sessions is None:
        return best
    return _better(
        best, _jobs_in(problem, found.sessions, best.cost, tolerance), best.bound, problem
    )


def _by_prices(problem: Problem, best: Solution, tolerance: float) -> Solution:
    """The plan that prices of hours and money lead to, and a bound by them."""
    prices = prices_of(problem, tolerance=tolerance)
    near = prices.near()
    if np.isinf(problem.capacity).all() and np.isinf(problem.purse).all():
        sessions = sessions_alone(problem)
        month = np.where(sessions[problem.model] > 0.0, problem.cost, np.inf).argmin(axis=1)
        best = _better(best, np.asarray(month), prices.bound, problem)
    else:
        sessions = sessions_at(problem, prices, near)
        month = _near_in(problem, sessions, near, best.cost, tolerance)
        best = _better(best, month, prices.bound, problem)
    if best.gap <= tolerance:
        return best
    return _better(best, None, bound_by_shares(problem, prices, near), problem)


def _near_in(
    problem: Problem, sessions: Floats, near: Whole, best: float, tolerance: float
) -> Whole | None:
    """Month of each job where the sessions are settled: those that are not `near` come after the
    plan, where it costs them least.
    """
    after = np.where(sessions[problem.model, problem.months :] > 0.0,
                     problem.cost[:, problem.months :], np.inf)  # fmt: skip
    month = np.asarray(problem.months + after.argmin(axis=1))
    own = replace(problem, cost=problem.cost[near], model=problem.model[near])
    placed = _jobs_in(own, sessions, best, tolerance)
    if placed is None:
        return None
    month[near] = placed
    return month


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
