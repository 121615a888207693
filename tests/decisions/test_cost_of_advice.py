"""What a rule would have cost, by hand, by quadrature and against the long-run cost."""

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad

from fleet.decisions.cost_of_advice import cost_of_advice, cost_of_rule, used_up
from fleet.decisions.replace_age import age_replacement_weibull

LIFE = {"shape": 2.5, "scale": 1000.0, "planned": 1.0, "failure": 5.0}
FLAT = {**LIFE, "shape": 0.9}


def test_what_parts_have_used_up_beside_quadrature():
    # Relative value from its definition: cost from age x to the renewal at T, less g a day.
    shape, scale = LIFE["shape"], LIFE["scale"]
    best = age_replacement_weibull(shape, scale, 1.0, 5.0)
    until, rate = float(best.age), float(best.rate)

    def alive(t):
        return np.exp(-((t / scale) ** shape))

    for age in (0.0, 50.0, 200.0, 400.0, 0.999 * until):
        lived = quad(alive, age, until, epsabs=1e-12, epsrel=1e-12)[0]
        worth = alive(until) + 5.0 * (alive(age) - alive(until)) - rate * lived
        assert used_up(age, *LIFE.values()) == pytest.approx(worth / alive(age), abs=1e-9)
    assert used_up([until, 5.0 * until], *LIFE.values()).tolist() == [1.0, 1.0]


def test_used_up_rises_from_nothing_to_a_planned_recap():
    worse = used_up(np.linspace(0.0, 600.0, 61), *LIFE.values())
    assert worse[0] == 0.0
    assert (np.diff(worse) >= 0).all()
    assert worse[-1] == 1.0


@pytest.mark.parametrize(("shape", "failure"), [(0.9, 5.0), (1.0, 5.0), (3.0, 1.0), (0.05, 5.0)])
def test_parts_that_never_pay_to_replace_use_nothing_up(shape, failure):
    assert used_up([0.0, 500.0, 5000.0], shape, 1000.0, 1.0, failure).tolist() == [0.0] * 3


@pytest.mark.parametrize(
    ("replace_at", "fails_after", "paid"),
    [
        (np.inf, np.inf, 0.0),  # never, and it lived
        (np.inf, 50.0, 5.0),  # never, and it failed
        (340.0, 50.0, 1.0),  # in 40 days, before it would have failed
        (360.0, 50.0, 5.0),  # too late
        (50.0, 0.5, 1.0),  # overdue: at once
        (401.0, np.inf, 0.0),  # beyond the horizon of 100
    ],
)
def test_what_is_paid_where_nothing_is_used_up(replace_at, fails_after, paid):
    cost = cost_of_rule(
        age=300.0, replace_at=replace_at, fails_after=fails_after, horizon=100.0, **FLAT
    )
    assert cost == pytest.approx(paid)


def test_what_is_left_at_the_end_counts():
    common = {"age": 300.0, "fails_after": np.inf, "horizon": 100.0, **LIFE}
    worth = dict(zip((0, 60, 300, 400), used_up([0, 60, 300, 400], *LIFE.values()), strict=True))
    assert cost_of_rule(replace_at=np.inf, **common) == pytest.approx(worth[400] - worth[300])
    # New parts after 40 days are 60 days old at the end.
    assert cost_of_rule(replace_at=340.0, **common) == pytest.approx(1 + worth[60] - worth[300])
    failed = cost_of_rule(replace_at=np.inf, **(common | {"fails_after": 40.0}))
    assert failed == pytest.approx(5 + worth[60] - worth[300])


@pytest.mark.parametrize(("rule", "what"), [("best", "rate"), (np.inf, "never"), (250.0, "early")])
def test_over_many_horizons_a_rule_costs_what_renewal_theory_says(rule, what):
    """One machine after another, horizon after horizon: what is left cancels, so the mean is the
    long-run cost of the rule, [cp R + cf F] / integral of R (Barlow and Hunter 1960).
    """
    rng = np.random.default_rng(5)
    shape, scale, horizon = LIFE["shape"], LIFE["scale"], 60.0
    best = age_replacement_weibull(*LIFE.values())
    at = float(best.age) if rule == "best" else rule
    lived = quad(lambda t: np.exp(-((t / scale) ** shape)), 0.0, min(at, 5.0 * scale))[0]
    alive = np.exp(-((min(at, 1e9) / scale) ** shape))
    expected = (alive + 5.0 * (1.0 - alive)) / lived
    age, total, rounds, machines = np.zeros(20_000), 0.0, 60, 20_000
    for number in range(rounds):
        hazard = (age / scale) ** shape + rng.exponential(size=machines)
        fails_after = scale * hazard ** (1.0 / shape) - age
        cost = cost_of_rule(
            age=age, replace_at=at, fails_after=fails_after, horizon=horizon, **LIFE
        )
        total += cost.mean() if number >= 20 else 0.0
        waits = np.maximum(at - age, 0.0)
        renewed = np.minimum(waits, fails_after)
        age = np.where(renewed <= horizon, horizon - renewed, age + horizon)
    # New parts do not fail within what is left of a horizon here: at 60 days one in a thousand.
    assert total / (rounds - 20) / horizon == pytest.approx(expected, rel=0.015), what


@pytest.fixture
def frame():
    return pl.DataFrame(
        {
            "age": [3000.0, 3000.0, 3000.0, None],
            "optimal_age": [3100.0, 3100.0, None, 3100.0],
            "failed": [True, False, True, True],
            "days": [200.0, 730.5, 200.0, 200.0],
            "shape": [0.9] * 4,
            "scale": [5000.0] * 4,
            "planned_cost": [40.0] * 4,
            "failure_cost": [200.0] * 4,
        }
    )


def test_three_rules_beside_each_other(frame):
    costs = cost_of_advice(frame, horizon=730.5, fixed_age=3652.5)
    got = costs.select("cost", "cost_run_to_failure", "cost_fixed_age").rows()
    assert got[:3] == [(40.0, 200.0, 200.0), (40.0, 0.0, 40.0), (200.0, 200.0, 200.0)]
    assert got[3] == (None, None, None)


def test_an_unknown_cost_leaves_the_costs_out(frame):
    unknown = frame.with_columns(failure_cost=pl.lit(None, pl.Float64))
    costs = cost_of_advice(unknown, horizon=730.5, fixed_age=3652.5)
    assert costs["cost"].null_count() == 4
