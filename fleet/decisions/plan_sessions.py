"""In which months each model is set up: session by session, the one that wastes least at prices.

METHODS: plan
"""

from dataclasses import dataclass

import numpy as np

from fleet.decisions.plan_prices import Prices
from fleet.decisions.plan_problem import Problem
from fleet.decisions.weibull_life import Floats, Mask, Whole

_ROOM = 1e-9


@dataclass(frozen=True, slots=True)
class _Session:
    """A model at the bench in a month with its best `jobs`, and what of their worth is lost for
    each hour (or unit of money) it takes.
    """

    lost: float
    month: int
    jobs: Whole


def sessions_at(problem: Problem, prices: Prices, near: Whole) -> Floats:
    """1 for each model that is set up in each month, (models, all months); only jobs that are
    `near` come within the plan.
    """
    sessions = np.zeros((problem.models, problem.cost.shape[1]))
    hours, money = problem.capacity.copy(), problem.purse.copy()
    free = np.zeros(problem.model.size, dtype=bool)
    free[near] = True
    outside = problem.cost[:, problem.months :].min(axis=1)
    best: list[_Session | None] = [
        _best(problem, prices, m, hours, money, free, outside) for m in range(problem.models)
    ]
    while True:
        offered = [(one.lost, model, one) for model, one in enumerate(best) if one is not None]
        if not offered:
            break
        _, model, session = min(offered, key=lambda one: one[:2])
        month = session.month
        again = sessions[model, month] > 0.0
        sessions[model, month] = 1.0
        free[session.jobs] = False
        hours[month] -= session.jobs.size * problem.hours[model] + problem.setup_hours * (not again)
        money[month] -= session.jobs.size * problem.spend[model] + problem.setup_cost * (not again)
        for other, one in enumerate(best):
            if other == model or (one is not None and one.month == month):
                best[other] = _best(problem, prices, other, hours, money, free, outside)
    placed = np.zeros(problem.model.size, dtype=bool)
    placed[near] = ~free[near]
    _after(problem, sessions, ~placed)
    return sessions


def _best(
    problem: Problem, prices: Prices, model: int, hours: Floats, money: Floats, free: Mask,
    outside: Floats,
) -> _Session | None:  # fmt: skip
    """The session of a model that wastes least, of those that save more than they cost."""
    rows = np.flatnonzero(free & (problem.model == model))
    if not rows.size:
        return None
    cost = problem.cost[rows, : problem.months]
    gain = prices.value[rows, None] - cost - prices.job[model, : problem.months]
    order = np.argsort(-gain, axis=0, kind="stable")
    gain = np.take_along_axis(gain, order, axis=0).cumsum(axis=0)
    saved = np.take_along_axis(outside[rows, None] - cost, order, axis=0).cumsum(axis=0)
    many = np.arange(1, rows.size + 1)[:, None]
    with np.errstate(divide="ignore"):
        fit = np.minimum(
            (hours - problem.setup_hours + _ROOM) / problem.hours[model],
            (money - problem.setup_cost + _ROOM) / problem.spend[model],
        )
    may = (many <= fit) & (saved > problem.setup_cost)
    if not may.any():
        return None
    lost = problem.setup_cost + prices.setup[model, : problem.months] - gain
    takes = many * problem.hours[model] + problem.setup_hours
    each = np.where(may, lost / takes, np.inf)
    last, month = np.unravel_index(int(each.argmin()), each.shape)
    return _Session(float(each[last, month]), int(month), rows[order[: last + 1, month]])


def sessions_alone(problem: Problem) -> Floats:
    """The same where there are no limits: each model by itself, from all months on, the one that
    is missed least left out or the one that helps most taken in, as long as that saves.
    """
    sessions = np.zeros((problem.models, problem.cost.shape[1]))
    for model in range(problem.models):
        cost = problem.cost[problem.model == model]
        kept = np.ones(cost.shape[1], dtype=bool)
        while cost.size:
            paid = np.where(kept, cost, np.inf)
            at = paid.argmin(axis=1)
            least = paid[np.arange(at.size), at]
            paid[np.arange(at.size), at] = np.inf
            missed = np.bincount(at, weights=paid.min(axis=1) - least, minlength=kept.size)
            helps = np.maximum(least[:, None] - cost, 0.0).sum(axis=0)
            saves = np.where(kept, problem.setup_cost - missed, helps - problem.setup_cost)
            best = int(np.nan_to_num(saves, nan=-np.inf).argmax())
            if saves[best] <= _ROOM:
                break
            kept[best] = not kept[best]
        sessions[model] = kept
    return sessions


def _after(problem: Problem, sessions: Floats, free: Mask) -> None:
    """Months after the plan for what is left: those that cost it least, set-ups included."""
    first = problem.months
    for model in range(problem.models):
        cost = problem.cost[free & (problem.model == model), first:]
        kept = np.ones(cost.shape[1], dtype=bool)
        kept[0] = True
        while cost.size and kept.sum() > 1:
            without = [
                cost[:, kept & (np.arange(kept.size) != month)].min(axis=1).sum()
                if kept[month] else np.inf
                for month in range(kept.size)
            ]  # fmt: skip
            if min(without) - cost[:, kept].min(axis=1).sum() >= problem.setup_cost:
                break
            kept[int(np.argmin(without))] = False
        sessions[model, first:] = kept if cost.size else np.arange(kept.size) == 0
