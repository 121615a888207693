"""Jobs whose parts are not there yet: the best plan that waits for them, by trying every plan."""

import itertools
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from fleet.decisions.plan import DUE_JOBS, Bench, lose_month, place_jobs
from fleet.decisions.plan_months import months_from
from fleet.errors import BadFrame
from fleet.flow.plan_tables import days_of

START = date(2026, 1, 10)
CALENDAR = months_from(START, 5)
BENCH = Bench(hours=4.0, setup_hours=0.5, labour_rate=12.0)


def made(seed, jobs=5):
    rng = np.random.default_rng(seed)
    due = [START + timedelta(days=int(d)) for d in rng.integers(0, 80, jobs)]
    there = [START + timedelta(days=int(d)) for d in rng.integers(0, 100, jobs)]
    frame = pl.DataFrame(
        {
            "unit": [f"U{n}" for n in range(jobs)],
            "model": rng.choice(["KM", "LN"], jobs).tolist(),
            "due_on": due,
            "p_fail": rng.uniform(0.0, 0.5, jobs),
            "hours": [1.5] * jobs,
            "planned_cost": [40.0] * jobs,
        },
        schema=DUE_JOBS,
    )
    best = np.searchsorted([m.last for m in CALENDAR], due)
    away = np.arange(len(CALENDAR))[None, :] - best[:, None]
    moving = np.where(away > 0, 3.0 * away, -0.5 * away) * rng.uniform(0.3, 2.0, (jobs, 1))
    return frame, moving, pl.Series(there, dtype=pl.Date)


@pytest.mark.parametrize("seed", range(6))
def test_the_best_of_all_plans_that_wait(seed):
    jobs, moving, there = made(seed)
    placed = place_jobs(jobs, moving, CALENDAR[:4], BENCH, not_before=there)
    problem = placed.problem
    ends = np.array([m.last for m in CALENDAR])
    least = np.inf
    for months in itertools.product(range(5), repeat=jobs.height):
        month = np.array(months)
        waits = all(
            ends[m] >= t
            for m, t in zip(month[month < 4], there.filter(pl.Series(month < 4)), strict=True)
        )
        if waits and problem.fits(month):
            least = min(least, problem.total(month))
    assert problem.total(placed.month) == pytest.approx(least, abs=1e-6)
    on = days_of(placed)["on"]
    assert on.null_count() < jobs.height
    assert bool((on >= there).fill_null(value=True).all())
    # and no plan that loses a month forgets it
    lost = lose_month(placed, 1)
    assert bool((days_of(lost)["on"] >= there).fill_null(value=True).all())


def test_waiting_is_only_for_those_that_must():
    jobs, moving, _ = made(3)
    free = place_jobs(jobs, moving, CALENDAR[:4], BENCH)
    none = pl.repeat(None, jobs.height, dtype=pl.Date, eager=True)
    same = place_jobs(jobs, moving, CALENDAR[:4], BENCH, not_before=none)
    assert free.month.tolist() == same.month.tolist()
    assert free.expected == same.expected


def test_a_day_for_each_job():
    jobs, moving, there = made(1)
    with pytest.raises(BadFrame, match="one for each job"):
        place_jobs(jobs, moving, CALENDAR[:4], BENCH, not_before=there[:2])
