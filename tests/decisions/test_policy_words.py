"""A date is said no more exactly than what is known allows."""

from datetime import date

import polars as pl
import pytest

from fleet.decisions.policies import Policy
from fleet.decisions.policy_words import when_due

YEAR = 365.25


def later(policy=None, **changes):
    row = {
        "failures": 0.0,
        "due_on": date(2032, 8, 3),
        "due_low": date(2029, 3, 1),
        "due_high": date(2051, 1, 9),
        "optimal_age": 6.1 * YEAR,
        "age": 0.0,
        "shape": 2.0,
        "shape_low": 0.8,
        "overdue_days": None,
        **changes,
    }
    frame = pl.DataFrame([row], schema_overrides={"due_high": pl.Date, "overdue_days": pl.Float64})
    return frame.select(when_due(policy or Policy()).later).item()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "Due about 2032, when its parts are about 6 years old (between 2029 and 2051)."),
        (
            {"due_high": None},
            "Due about 2032, when its parts are about 6 years old (not before 2029, perhaps "
            "never).",
        ),
        (
            {"due_low": date(2032, 1, 1), "due_high": date(2032, 12, 1)},
            "Due about 2032, when its parts are about 6 years old.",
        ),
        (
            {"failures": 3.0},
            "Due on 3 August 2032, when its parts are 6.1 years old (between 1 March 2029 and 9 "
            "January 2051).",
        ),
    ],
)
def test_a_year_where_no_failure_of_such_parts_is_known_else_a_day(changes, said):
    assert later(**changes) == said


def test_the_risk_limit_says_a_year_too_and_a_fixed_age_stays_a_day():
    risk = later(Policy(rule="risk", limit=0.1, within_years=1.0))
    assert risk.startswith("Due about 2032, when the chance")
    assert "August" not in risk
    assert later(Policy(rule="age", age_years=6.0)).startswith("Due on 3 August 2032")
