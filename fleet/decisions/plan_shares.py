"""A bound on a plan in which every job bears its own part of getting ready.

At given prices each model stands alone: jobs choose months, and a month in which one is done costs
getting ready. Were every job to pay v, of which v - c above the cost c of a month goes towards its
set-up, no plan could be cheaper than all v, as long as no set-up is paid more than once over. The v
are raised job by job, each to the next month's cost at a time, until no set-up has room (dual
ascent: Erlenkotter 1978, Operations Research 26:992-1009). METHODS: plan
"""

import numpy as np

from fleet.decisions.plan_prices import Prices
from fleet.decisions.plan_problem import Problem
from fleet.decisions.weibull_life import Floats, Whole

_NOTHING = 1e-9


def bound_by_shares(problem: Problem, prices: Prices, near: Whole) -> float:
    """A cost below which no plan lies. `near`: the jobs that bear a part; others pay what the
    cheapest month costs them without getting ready, which is never too much.
    """
    setup = problem.setup_cost + prices.setup
    cost = problem.cost + prices.job[problem.model]
    pays = cost.min(axis=1)
    free = setup.copy()
    turns = _in_turn(problem.model[near], cost[near])
    for _ in range(cost.shape[1] + 1):
        raised = 0.0
        for turn in turns:
            jobs = near[turn]
            raised += _raise(cost[jobs], pays, jobs, free, problem.model[jobs])
        if raised <= _NOTHING:
            break
    return float(pays.sum()) - prices.worth


def _raise(cost: Floats, pays: Floats, jobs: Whole, free: Floats, model: Whole) -> float:
    """Raise jobs of different models to the next month's cost, or as far as set-ups have room."""
    now = pays[jobs]
    given = np.maximum(now[:, None] - cost, 0.0)
    most = (cost + given + free[model]).min(axis=1)
    level = np.where(cost > now[:, None] + _NOTHING, cost, np.inf).min(axis=1)
    then = np.maximum(np.minimum(most, level), now)
    free[model] -= np.maximum(then[:, None] - cost, 0.0) - given
    pays[jobs] = then
    return float((then - now).sum())


def _in_turn(model: Whole, cost: Floats) -> list[Whole]:
    """Rows in turns of one job a model at the most, those with the fewest near months first."""
    order = np.lexsort((np.partition(cost, 1, axis=1)[:, 1], model))
    first = np.searchsorted(model[order], model[order], side="left")
    turn = np.arange(model.size) - first
    by_turn = np.argsort(turn, kind="stable")
    ends = np.flatnonzero(np.diff(turn[by_turn])) + 1
    return [rows for rows in np.split(order[by_turn], ends) if rows.size]
