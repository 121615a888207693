"""The plan that takes jobs by due date, each into the first month with room: what to compare with.

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
    for job in np.asarray(order):
        if due[job] >= problem.months:
            month[job] = due[job]
            continue
        model = problem.model[job]
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
    return month
