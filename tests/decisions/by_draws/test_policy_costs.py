"""Costs of rules against published ages, numerical integration and simulated lives."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import weibull_min

from fleet.decisions.condition_first import Reading, _cycle, looking_first
from fleet.decisions.opportunity_age import opportunity_age
from fleet.decisions.policies import Policy
from fleet.decisions.policy_costs import Bench, _at, policy_costs
from fleet.decisions.set_life import SetLife

DAY = 365.25
READING = Reading(sensitivity=0.7, specificity=0.9, within=2 * DAY)

# published.md 5.3, computed there from Barlow and Hunter's formula with scipy: shape, cf/cp,
# best age and cost in units of the scale and of cp/scale, cost of running to failure.
TABLE = (
    (1.5, 5, 0.675492, 4.931299, 5.538661),
    (2.0, 2, 1.090797, 2.181594, 2.256758),
    (2.0, 5, 0.510655, 4.085242, 5.641896),
    (2.0, 10, 0.336451, 6.056121, 11.283792),
    (2.5, 5, 0.493047, 3.462043, 5.635302),  # check value N
    (3.0, 2, 0.810342, 1.969963, 2.239693),
    (3.0, 5, 0.502610, 3.031397, 5.599233),
    (3.0, 10, 0.382456, 3.949350, 11.198465),
    (4.0, 5, 0.538402, 2.497125, 5.516313),
    (4.0, 10, 0.439097, 3.047786, 11.032627),
)


def life(*draws, weight=None):
    """Draws (shape, scale in days) of new parts."""
    shape, scale = (np.array(v, float) for v in zip(*draws, strict=True))
    share = np.full(len(draws), 1.0 / len(draws)) if weight is None else np.array(weight)
    return SetLife(weight=share, shape=shape, scale=scale, age=np.zeros(len(draws)))


@pytest.mark.parametrize(("shape", "ratio", "age", "cost", "failing"), TABLE)
def test_published_ages_and_costs(by_hand, shape, ratio, age, cost, failing):
    scale = 15.0
    lives = by_hand.lives(*by_hand.model(*[(shape, scale)] * 10))
    rows = policy_costs(
        lives, 1, planned=1.0, failure=float(ratio), risk=Policy(rule="risk"), fixed_years=6.0,
        bench=None, reading=READING,
    )  # fmt: skip
    each = {row["policy"]: row for row in rows.iter_rows(named=True)}
    assert set(each) == {"run_to_failure", "cost", "risk", "age"}
    assert each["run_to_failure"]["cost"] * scale == pytest.approx(failing, rel=1e-6)
    # the age from a grid (METHODS: best-age-by-draws); at it the cost is flat
    assert each["cost"]["age"] / DAY / scale == pytest.approx(age, rel=5e-3)
    assert each["cost"]["cost"] * scale == pytest.approx(cost, rel=1e-4)
    assert each["cost"]["saving"] == pytest.approx(1.0 - cost / failing, abs=1e-4)
    exact = _at(life((shape, scale)), age * scale, 1.0, float(ratio))
    assert exact.rate * scale == pytest.approx([cost], rel=1e-6)


def test_a_mean_over_unlike_draws_by_numerical_integration(by_hand):
    draws = ((2.0, 14.0), (3.5, 18.0), (1.2, 25.0))
    lives = by_hand.lives(*by_hand.model(*draws))
    rows = policy_costs(
        lives, 1, planned=40.0, failure=160.0, risk=Policy(rule="risk"), fixed_years=9.0,
        bench=None, reading=READING,
    )  # fmt: skip
    each = {row["policy"]: row for row in rows.iter_rows(named=True)}

    def rates(age):
        out = []
        for shape, scale in draws:
            law = weibull_min(shape, scale=scale)
            worked = quad(law.sf, 0.0, age)[0]
            out.append((40.0 * law.sf(age) + 160.0 * law.cdf(age), law.cdf(age), worked))
        return [c / w for c, _, w in out], [f / w for _, f, w in out]

    for name in ("age", "risk", "cost"):
        cost, failures = rates(each[name]["age"] / DAY)
        assert each[name]["cost"] == pytest.approx(np.mean(cost), rel=1e-8)
        assert each[name]["failures"] == pytest.approx(np.mean(failures), rel=1e-8)
        assert each[name]["cost_low"] == pytest.approx(min(cost), rel=1e-8)
        assert each[name]["cost_high"] == pytest.approx(max(cost), rel=1e-8)
    assert each["age"]["age"] == 9.0 * DAY


def test_a_set_that_has_lived_by_numerical_integration():
    new = life((2.0, 14.0), (3.5, 18.0), weight=[0.25, 0.75])
    old = new.used(10.0)
    assert old.weight == pytest.approx(new.weight)  # a batch that is known: nothing to learn
    wanted = [weibull_min(k, scale=s).sf(13.0) / weibull_min(k, scale=s).sf(10.0)
              for k, s in ((2.0, 14.0), (3.5, 18.0))]  # fmt: skip
    assert old.lasts(3.0) == pytest.approx(wanted)
    worked = [quad(weibull_min(k, scale=s).sf, 0, 7.0)[0] for k, s in ((2.0, 14.0), (3.5, 18.0))]
    assert new.worked(7.0) == pytest.approx(worked)


def test_an_opportunity_pays_earlier_and_saves():
    one = life((3.0, 15.0))
    best = _at(one, 0.502610 * 15.0, 40.0, 200.0)
    found = opportunity_age(one, planned=40.0, failure=200.0, opening=15.0, openings=0.1)
    assert found.open_age < 0.502610 * 15.0 < found.planned_age
    assert found.rate < best.rate
    # without anything to save an opening brings nothing: the classic age and cost
    none = opportunity_age(one, planned=40.0, failure=200.0, opening=0.0, openings=0.1)
    assert none.rate == pytest.approx(best.rate, rel=1e-3)
    assert none.planned_age == pytest.approx(0.502610 * 15.0, rel=0.1)
    # machines that never wear out are left alone
    never = opportunity_age(life((0.9, 15.0)), planned=40.0, failure=60.0, opening=10.0,
                            openings=0.1)  # fmt: skip
    assert np.isinf([never.open_age, never.planned_age]).all()


def test_cost_of_an_opportunity_rule_by_simulated_sets():
    one = life((3.0, 15.0))
    found = opportunity_age(one, planned=40.0, failure=200.0, opening=15.0, openings=0.1)
    random = np.random.default_rng(5)
    fails = weibull_min(3.0, scale=15.0).rvs(400_000, random_state=random)
    opened = found.open_age + random.exponential(10.0, fails.size)
    end = np.minimum(np.minimum(fails, opened), found.planned_age)
    cost = np.where(end == fails, 200.0, np.where(end == opened, 25.0, 40.0))
    se = 3.0 * cost.std() / fails.size**0.5 / end.mean()
    assert found.rate[0] == pytest.approx(cost.mean() / end.mean(), abs=se + 1e-3)
    assert found.failures[0] == pytest.approx((end == fails).mean() / end.mean(), rel=0.02)


def test_looking_first_by_simulated_sets():
    one, reading = life((3.0, 15.0)), Reading(sensitivity=0.7, specificity=0.9, within=2.0)
    cost, worked, failed = _cycle(one, reading, 7.0, 40.0, 200.0, 8.0, 11.0)
    random = np.random.default_rng(8)
    fails = weibull_min(3.0, scale=15.0).rvs(200_000, random_state=random)
    paid, end = np.where(fails < 7.0, 200.0, 0.0), np.minimum(fails, 7.0)
    on = fails >= 7.0
    for n in range(60):
        age = 7.0 + 2.0 * n
        will = fails < age + 2.0
        bad = random.random(fails.size) < np.where(will, 0.7, 0.1)
        paid += np.where(on, 11.0 + np.where(bad, 32.0, np.where(will, 200.0, 0.0)), 0.0)
        on = on & ~bad
        end = np.where(on, np.minimum(fails, age + 2.0), end)
        on = on & ~will
    assert cost[0] == pytest.approx(paid.mean(), abs=4 * paid.std() / fails.size**0.5)
    assert worked[0] == pytest.approx(end.mean(), abs=4 * end.std() / fails.size**0.5)
    assert 0.0 < failed[0] < 1.0


def test_a_perfect_free_reading_leaves_no_failure_to_later_looks():
    perfect = Reading(sensitivity=1.0, specificity=1.0, within=1.0)
    found = looking_first(life((3.0, 15.0)), perfect, planned=40.0, failure=200.0, opening=0.0,
                          measuring=0.0)  # fmt: skip
    best = 3.031397 * 40.0 / 15.0
    assert found.rate[0] < 0.8 * best
    assert found.failures[0] < 0.005
    dear = looking_first(life((3.0, 15.0)), perfect, planned=40.0, failure=200.0, opening=0.0,
                         measuring=500.0)  # fmt: skip
    assert np.isinf(dear.first_look)


def test_a_bench_adds_two_rules(by_hand):
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0)] * 10))
    rows = policy_costs(
        lives, 1, planned=40.0, failure=200.0, risk=Policy(rule="risk"), fixed_years=9.0,
        bench=Bench(opening=9.0, measuring=12.0, openings=0.05 / DAY), reading=READING,
    )  # fmt: skip
    assert rows["policy"].to_list()[-2:] == ["opportunity", "condition_first"]
    each = {row["policy"]: row for row in rows.iter_rows(named=True)}
    assert each["opportunity"]["cost"] <= each["cost"]["cost"] * (1 + 1e-3)
    assert each["opportunity"]["open_age"] < each["cost"]["age"]
