"""Rules: what they refuse, and the words of units that are due by them."""

from datetime import date, timedelta

import polars as pl
import pytest

from fleet.decisions.due_by_draws import due_by_draws
from fleet.decisions.policies import Policy
from fleet.errors import BadInput
from fleet.frames import CELLS, DRAWS

YEAR = 365.25
SHARES = pl.DataFrame({"model": ["BK3"], "prompt_share": [0.5]})
NO_COSTS = pl.DataFrame(
    {"model": ["BK3"], "planned_cost": [None], "failure_cost": [None]},
    schema_overrides={"planned_cost": pl.Float64, "failure_cost": pl.Float64},
)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"rule": "luck"}, "choose cost, risk, age"),
        ({"rule": "risk", "limit": 1.5}, "between 0 and 1"),
        ({"rule": "risk", "within_years": 0.0}, "above zero"),
        ({"rule": "age"}, "needs to be told"),
        ({"rule": "age", "age_years": -3.0}, "above zero"),
    ],
)
def test_what_cannot_be_is_said(fields, said):
    with pytest.raises(BadInput, match=said):
        Policy(**fields)


def draws(shape=3.0, scale=15.0, *, failures=20.0, number=20):
    """Cells of a model whose draws are all alike."""
    cells = pl.DataFrame(
        [
            {
                "cell": n, "model": "BK3", "parts": parts, "to_come": True, "lives": 100.0,
                "failures": failures, "oldest_age": 25 * YEAR, "borrowed": False, "usual_c": 25.0,
                "usual_hours": 2000.0, "sd_c": 0.0, "sd_log_hours": 0.0,
            }
            for n, parts in enumerate(("original", "replaced"))
        ],
        schema=CELLS,
    )  # fmt: skip
    rows = [
        (c, n, 1.0 / number, shape, scale * YEAR, scale * YEAR, 0.2, 0.0, 1.0)
        for c in range(2)
        for n in range(number)
    ]
    return cells, pl.DataFrame(rows, schema=DRAWS, orient="row")


def row(make, policy, years, *, costs=NO_COSTS, found=None, **unit):
    started = make.as_of - timedelta(days=round(years * YEAR))
    working = make.working({"started": started, **unit})
    done = due_by_draws(
        working, *(found or draws()), costs, SHARES, as_of=make.as_of, policy=policy
    )
    return done.row(0, named=True)


def test_a_risk_limit_needs_no_costs(make):
    # root of (t+1)^3 - t^3 = 15^3 (-ln 0.9), by hand: t = (sqrt(12 * 355.59 - 3) - 3) / 6
    wanted = ((12 * 15**3 * 0.1053605156578263 - 3) ** 0.5 - 3) / 6
    got = row(make, Policy(rule="risk"), 6.0)
    assert got["action"] == "recap_when_due"
    assert got["optimal_age"] / YEAR == pytest.approx(wanted, rel=3e-3)
    assert "reaches the limit of 1 in 10" in got["reason"]
    past = row(make, Policy(rule="risk"), 14.0)
    assert past["action"] == "recap_now"
    assert past["overdue_days"] / YEAR == pytest.approx(14.0 - wanted, abs=0.05)
    assert "above the limit of 1 in 10, and has been for" in past["reason"]


def test_a_limit_that_is_never_reached(make):
    got = row(make, Policy(rule="risk", limit=0.5), 4.0, found=draws(1.0, 30.0))
    assert (got["action"], got["due_on"]) == ("leave", None)
    assert "never reaches the limit of 5 in 10" in got["reason"]


def test_a_fixed_age_asks_nothing(make):
    policy = Policy(rule="age", age_years=10.0)
    past = row(make, policy, 12.0, found=draws(0.9, 30.0, failures=0.0))
    assert past["action"] == "recap_now"
    assert "passed the fixed age of 10 years 2 years ago" in past["reason"]
    young = row(make, policy, 4.0)
    assert young["due_on"] == date(2032, 6, 30) or young["due_on"] == date(2032, 7, 1)
    assert "reach the fixed age of 10 years" in young["reason"]
    other = row(make, policy, 12.0, model="ZZ9")  # nothing is known of its model
    assert (other["action"], other["p_fail"]) == ("recap_now", None)


def test_the_age_that_costs_least_still_asks_for_costs(make):
    assert "planned recap" in row(make, Policy(), 12.0)["reason"]
    assert "pay best at" in row(make, Policy(), 12.0, costs=make.costs)["reason"]
