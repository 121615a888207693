"""How far a job may be brought forward to share a session with others of its model."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from fleet.decisions.plan import DUE_JOBS, FORWARD, Bench, place_jobs
from fleet.decisions.plan_months import months_from

MONTHS = 24


def _placed(due_month):
    """One job due at once, one due in a later month that costs next to nothing to bring forward."""
    calendar = months_from(date(2026, 1, 1), MONTHS + 1)
    due = [calendar[0].last, calendar[due_month].last]
    jobs = pl.DataFrame(
        {
            "unit": ["A", "B"],
            "model": ["KM", "KM"],
            "due_on": due,
            "p_fail": [0.5, 0.1],
            "hours": [2.0, 2.0],
            "planned_cost": [40.0, 40.0],
        },
        schema=DUE_JOBS,
    )
    months = np.arange(MONTHS + 1)
    moving = np.array([50.0 * months, 0.01 * np.abs(months - due_month)])
    return place_jobs(jobs, moving, calendar[:MONTHS], Bench(setup_hours=1.0, labour_rate=12.0))


@pytest.mark.parametrize(
    ("due_month", "month"), [(FORWARD - 1, 0), (FORWARD, 0), (FORWARD + 1, FORWARD + 1)]
)
def test_a_session_is_shared_up_to_a_year_ahead_and_no_further(due_month, month):
    """Getting ready costs 12, moving B at most 0.24: only the rule keeps them apart."""
    assert _placed(due_month).month.tolist() == [0, month]
