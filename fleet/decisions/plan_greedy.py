"""Plans made job by job: by due date (what to compare with), or into the cheapest room left.

METHODS: plan
"""

from collections.abc import Sequence

import numpy as np

from fleet.decisions.plan_problem import Problem
from fleet.decisions.weibull_life import Whole


def plan_by_date(problem: Problem, order: Sequence[int] | Whole, due: Whole) -> Whole:
    """Month of each job: in `order`, each from its `due` month on to the first with room.

    Jobs that find none come after the plan.
    """
    hours, money = problem.capacity.copy(), problem.purse.copy()
    at_work = np.zeros((problem.models, problem.months), dtype=bool)
    month = np.full(due.size, problem.months, dtype=np.int64)
    full = np.full(problem.models, problem.months)  # no month from there on has room for a job
    for job in np.asarray(order):
        if due[job] >= problem.months:
            month[job] = due[job]
            continue
        model = problem.model[job]
        if due[job] >= full[model]:
            continue
        first = ~at_work[model]
        need = problem.hours[model] + problem.setup_hours * first
        pay = problem.spend[model] + problem.setup_cost * first
        room = (need <= hours + 1e-9) & (pay <= money + 1e-9)
        room[: due[job]] = False
        places = np.flatnonzero(room)
        if places.size:
            at = int(places[0])
            month[job] = at
            hours[at] -= need[at]
            money[at] -= pay[at]
            at_work[model, at] = True
        else:
            full[model] = due[job]
    return month


def into_room(problem: Problem, month: Whole, who: Whole) -> Whole:
    """The plan with the jobs `who` moved, each in turn to where it costs least and finds room, in
    the plan or after it; those first that lose most by waiting until after it.
    """
    anew = month.copy()
    anew[who] = problem.months
    hours, money = (
        room - used
        for room, used in zip((problem.capacity, problem.purse), problem.used(anew), strict=True)
    )
    others = np.delete(month, who)
    at_work = np.zeros((problem.models, problem.cost.shape[1]), dtype=bool)
    at_work[np.delete(problem.model, who), others] = True
    least = problem.cost[:, : problem.months].min(axis=1)
    for job in who[np.argsort((least - problem.cost[:, problem.months])[who], kind="stable")]:
        model = problem.model[job]
        first = ~at_work[model]
        need = problem.hours[model] + problem.setup_hours * first[: problem.months]
        pay = problem.spend[model] + problem.setup_cost * first[: problem.months]
        cost = problem.cost[job] + problem.setup_cost * first
        cost[: problem.months][(need > hours + 1e-9) | (pay > money + 1e-9)] = np.inf
        at = int(cost.argmin())
        anew[job] = at
        at_work[model, at] = True
        if at < problem.months:
            hours[at] -= need[at]
            money[at] -= pay[at]
    return anew
