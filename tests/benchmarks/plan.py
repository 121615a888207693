"""How near the plan of many due units comes to its bound, and how long it takes.

Ratios of one run on invented units: the plan's cost against a bound no plan is below (each yes or
no let go to a share) and against taking jobs by date. Costs are above every job in its best month
for nothing. Run: `.venv/bin/python tests/benchmarks/plan.py`
"""

import argparse
import time

import numpy as np

from fleet.decisions.plan import TOLERANCE
from fleet.decisions.plan_greedy import plan_by_date
from fleet.decisions.plan_problem import Problem
from fleet.decisions.plan_solver import solve

MONTH = 30.4  # days
BEYOND = 3


def invented(units: int, models: int, months: int, *, load: float, seed: int = 0) -> Problem:
    """Units of models that wear out, four in ten overdue; `load`: hours of the bench, as a share
    of what all jobs take.
    """
    rng = np.random.default_rng(seed)
    model = rng.integers(models, size=units)
    shape = rng.uniform(2.0, 5.0, models)[model][:, None]
    planned = rng.uniform(25.0, 60.0, models).round()
    dearer = (planned * rng.uniform(1.5, 4.0, models))[model][:, None]
    hours = rng.choice([0.75, 1.0, 1.5, 2.0, 2.5], models)
    days = ((np.arange(months + BEYOND) + 0.5) * MONTH)[None, :]
    due = np.where(rng.random(units) < 0.4, 0.0, rng.uniform(0.0, days.max(), units))[:, None]
    age = rng.uniform(8.0, 20.0, (units, 1)) * 365.25
    rate = 1.2 * planned[model][:, None] / (10.0 * 365.25)
    past = np.where(due == 0.0, rng.uniform(1.0, 4.0, (units, 1)), 1.0)
    scale = rate / dearer * past * (age + due) / shape  # so that waiting pays until the due day
    hazard = scale * (((age + days) / (age + due)) ** shape - (age / (age + due)) ** shape)
    failed = -np.expm1(-hazard)
    cost = dearer * failed - rate * days * (1.0 - failed / 2.0)
    return Problem(
        cost=cost - cost.min(axis=1, keepdims=True),
        model=model,
        hours=hours,
        spend=planned,
        capacity=np.full(months, load * hours[model].sum() / months),
        purse=np.full(months, np.inf),
        setup_hours=0.75,
        setup_cost=9.0,
    )


def measure(units: int, models: int, months: int, load: float) -> None:
    """Print one line of numbers."""
    problem = invented(units, models, months, load=load)
    due = problem.cost.argmin(axis=1)
    start = plan_by_date(problem, np.lexsort((-problem.cost[:, -1], due)), due)
    whole = float(problem.spend[problem.model].sum())
    began, clock = time.process_time(), time.perf_counter()
    found = solve(problem, start=start, tolerance=TOLERANCE * whole)
    took, clock = time.process_time() - began, time.perf_counter() - clock
    if not problem.fits(found.month):
        raise SystemExit("the plan does not keep its limits")
    print(
        f"{units:,} units, {models} models, {months} months, hours for {load:.0%}: plan "
        f"{found.cost:,.0f}, {found.cost / found.bound:.3f} x the bound, "
        f"{found.cost / problem.total(start):.2f} x by date, gap {found.gap / whole:.2%} of what "
        f"the jobs cost; processor {took:.1f} s, clock {clock:.1f} s",
        flush=True,
    )


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--units", type=int, nargs="*", default=[40, 300, 5_000])
    for size in asked.parse_args().units:
        measure(size, max(4, min(20, size // 50)), 24, 0.8)
