"""Best ages averaged over draws: against plain averages, and against one life."""

import numpy as np
import pytest
from scipy.special import gamma, gammainc

from fleet.decisions import age_replacement_weibull, one_time_weibull
from fleet.decisions.best_age_past import best_given_alive
from fleet.decisions.best_ages_by_draws import (
    LEAST_SAVING,
    best_ages,
    long_run_rate,
)
from fleet.decisions.cost_table import CostTable

SHAPES = (1.5, 2.0, 2.5, 3.5, 5.0, 8.0)
COSTS = ((40.0, 120.0), (40.0, 200.0), (40.0, 500.0))


def _rows(*lives, weight=None):
    """Arrays (1, draws) of shape, log scale and weight, scales in years."""
    shape, scale = np.array(lives, float).T
    share = np.full(shape.size, 1.0 / shape.size) if weight is None else np.array(weight)
    return shape[None], np.log(scale)[None], share[None]


def _one(value):
    return np.array([value], float)


def _classic_cost(age, planned, failure, lives, weight):
    """Expected long-run cost per year of replacing at an age, by the definition."""
    shape, scale = (v[:, None] for v in np.array(lives, float).T)
    alive = np.exp(-((age / scale) ** shape))
    lived = scale * gamma(1 + 1 / shape) * gammainc(1 / shape, (age / scale) ** shape)
    each = (planned * alive + failure * (1 - alive)) / lived
    return (np.array(weight)[:, None] * each).sum(axis=0)


def _once_cost(age, planned, failure, rate, lives, weight):
    """The same of replacing once, every year after costing `rate`."""
    shape, scale = (v[:, None] for v in np.array(lives, float).T)
    alive = np.exp(-((age / scale) ** shape))
    lived = scale * gamma(1 + 1 / shape) * gammainc(1 / shape, (age / scale) ** shape)
    each = planned * alive + failure * (1 - alive) - rate * lived
    return (np.array(weight)[:, None] * each).sum(axis=0)


LIVES = ((1.1, 14.0), (2.0, 18.0), (3.0, 12.0), (4.0, 22.0), (6.0, 16.0))
WEIGHT = [0.1, 0.25, 0.3, 0.2, 0.15]


@pytest.mark.parametrize("shape", [0.4, 0.8, 1.0, 2.0, 5.0, 15.0])
def test_tables_of_lived_and_survival(shape):
    age = np.exp(np.linspace(np.log(0.02), np.log(8.0), 301))
    table = CostTable(np.full((1, age.size), shape))
    log_age = np.log(age)[None]
    assert table.survival(log_age)[0] == pytest.approx(np.exp(-(age**shape)), rel=1e-12)
    exact = gamma(1 + 1 / shape) * gammainc(1 / shape, age**shape)
    # 50 nodes in each factor of e, joined by straight lines: most is lost where R falls steeply
    assert table.lived(log_age)[0] == pytest.approx(exact, rel=5e-5 + 5e-6 * shape)


@pytest.mark.parametrize(("planned", "failure"), COSTS)
@pytest.mark.parametrize("shape", SHAPES)
def test_all_draws_equal_is_classic_age_replacement(shape, planned, failure):
    exact = age_replacement_weibull(shape, 15.0, planned, failure)
    rows, costs = _rows(*[(shape, 15.0)] * 20), (_one(planned), _one(failure))
    # a table of ages in steps of 6 %, the lowest placed by a parabola
    assert long_run_rate(*rows, *costs) == pytest.approx([float(exact.rate)], rel=2e-3)
    found = best_ages(*rows, *costs, None)
    never = failure / (15.0 * gamma(1 + 1 / shape))
    if float(exact.rate) > (1.0 - LEAST_SAVING) * never:
        assert np.isinf(found.age[0])
    else:
        assert found.age == pytest.approx([float(exact.age)], rel=5e-3)
    for limit in (found.low, found.high):
        assert limit == pytest.approx([float(exact.age)], rel=1e-9)


@pytest.mark.parametrize(("planned", "failure"), COSTS)
@pytest.mark.parametrize("shape", SHAPES)
def test_all_draws_equal_is_one_time_replacement(shape, planned, failure):
    rate = 1.3 * float(age_replacement_weibull(shape, 15.0, planned, failure).rate)
    exact = one_time_weibull(shape, 15.0, planned, failure, rate)
    rows = _rows(*[(shape, 15.0)] * 20)
    found = best_ages(*rows, _one(planned), _one(failure), _one(rate))
    saved = np.ptp(_once_cost(np.array([float(exact.wait), 1e6]), planned, failure, rate,
                              [(shape, 15.0)], [1.0]))  # fmt: skip
    if saved > 1.2 * LEAST_SAVING * failure:
        assert found.age == pytest.approx([float(exact.wait)], rel=5e-3)
    assert found.low == pytest.approx([float(exact.wait)], rel=1e-9)


def test_the_classic_age_has_the_lowest_expected_cost():
    planned, failure = 40.0, 240.0
    rows = _rows(*LIVES, weight=WEIGHT)
    found = best_ages(*rows, _one(planned), _one(failure), None)
    ages = np.exp(np.linspace(np.log(0.5), np.log(100.0), 40001))
    cost = _classic_cost(ages, planned, failure, LIVES, WEIGHT)
    assert found.age == pytest.approx([ages[cost.argmin()]], rel=5e-3)
    at = _classic_cost(found.age, planned, failure, LIVES, WEIGHT)
    assert at == pytest.approx([cost.min()], rel=1e-5)
    rate = long_run_rate(*rows, _one(planned), _one(failure))
    assert rate == pytest.approx([cost.min()], rel=1e-3)


def test_the_age_to_replace_once_has_the_lowest_expected_cost():
    planned, failure, rate = 40.0, 240.0, 9.0
    found = best_ages(*_rows(*LIVES, weight=WEIGHT), _one(planned), _one(failure), _one(rate))
    ages = np.exp(np.linspace(np.log(0.5), np.log(100.0), 40001))
    cost = _once_cost(ages, planned, failure, rate, LIVES, WEIGHT)
    assert found.age == pytest.approx([ages[cost.argmin()]], rel=5e-3)
    at = _once_cost(found.age, planned, failure, rate, LIVES, WEIGHT)
    assert at == pytest.approx([cost.min()], abs=1e-4 * failure)


def test_limits_are_those_of_the_draws_own_best_ages():
    rng = np.random.default_rng(2)
    lives = tuple(zip(rng.uniform(1.5, 6.0, 200), rng.uniform(10.0, 20.0, 200), strict=True))
    found = best_ages(*_rows(*lives), _one(40.0), _one(240.0), None)
    shape, scale = np.array(lives).T
    own = np.sort(age_replacement_weibull(shape, scale, 40.0, 240.0).age)
    assert found.low == pytest.approx([own[9]])  # the tenth of two hundred
    assert found.high == pytest.approx([own[189]])
    assert found.low < found.age < found.high


def test_limits_reach_never_where_some_draws_do_not_wear_out():
    lives = [(0.9, 15.0)] * 2 + [(4.0, 15.0)] * 18
    found = best_ages(*_rows(*lives), _one(40.0), _one(240.0), None)
    assert np.isinf(found.high[0])
    assert np.isfinite(found.age[0])


@pytest.mark.parametrize("rate", [None, 9.0])
@pytest.mark.parametrize("failure", [10.0, 40.0])
def test_never_where_a_failure_costs_no_more_than_a_planned_recap(failure, rate):
    found = best_ages(
        *_rows(*LIVES), _one(40.0), _one(failure), None if rate is None else _one(rate)
    )
    assert np.isinf([found.age[0], found.low[0], found.high[0]]).all()


@pytest.mark.parametrize("rate", [None, 9.0])
def test_no_age_where_a_cost_is_unknown(rate):
    rows = [np.repeat(v, 3, axis=0) for v in _rows(*LIVES)]
    planned, failure = np.array([40.0, np.nan, 40.0]), np.array([np.nan, 240.0, 240.0])
    found = best_ages(*rows, planned, failure, None if rate is None else np.full(3, rate))
    assert np.isnan(found.age).tolist() == [True, True, False]
    assert np.isnan(found.low).tolist() == [True, True, False]


@pytest.mark.parametrize("shape", [0.5, 0.8, 1.0])
def test_never_where_nothing_wears_out(shape):
    rows = _rows(*[(shape, 15.0)] * 5)
    found = best_ages(*rows, _one(40.0), _one(400.0), None)
    assert np.isinf(found.age[0])
    mean = 15.0 * gamma(1 + 1 / shape)
    assert long_run_rate(*rows, _one(40.0), _one(400.0)) == pytest.approx([400.0 / mean], rel=1e-3)


def test_a_recap_that_hardly_saves_is_not_advised():
    # shape 1.3: the best age saves less than two in a hundred of what running to failure costs
    exact = age_replacement_weibull(1.3, 15.0, 40.0, 160.0)
    never = 160.0 / (15.0 * gamma(1 + 1 / 1.3))
    saving = 1.0 - float(exact.rate) / never
    assert 0.0 < saving < LEAST_SAVING
    found = best_ages(*_rows(*[(1.3, 15.0)] * 9), _one(40.0), _one(160.0), None)
    assert np.isinf(found.age[0])
    assert np.isfinite(found.low[0])


@pytest.mark.parametrize("shape", [1.1, 1.25, 1.3, 1.4, 1.6, 2.0])
@pytest.mark.parametrize("failure", [41.0, 60.0, 160.0, 400.0])
def test_once_and_over_and_over_agree_where_the_lives_agree(shape, failure):
    rows = _rows(*[(shape, 15.0)] * 9)
    rate = long_run_rate(*rows, _one(40.0), _one(failure))
    classic = best_ages(*rows, _one(40.0), _one(failure), None).age
    once = best_ages(*rows, _one(40.0), _one(failure), rate).age
    saving = 1.0 - rate * 15.0 * gamma(1 + 1 / shape) / failure
    if abs(saving - LEAST_SAVING) > 2e-3:  # else the table's own error decides
        assert np.isinf(once) == np.isinf(classic) == (saving < LEAST_SAVING)
    if np.isfinite(classic):
        assert once == pytest.approx(classic, rel=0.01)


def test_rows_do_not_hear_of_one_another():
    rng = np.random.default_rng(3)
    shape, scale = rng.uniform(1.5, 6.0, (300, 30)), rng.uniform(8.0, 25.0, (300, 30))
    weight = rng.dirichlet(np.ones(30), 300)
    planned, failure = rng.uniform(20.0, 60.0, 300), rng.uniform(80.0, 400.0, 300)
    whole = best_ages(shape, np.log(scale), weight, planned, failure, None)
    for row in (0, 128, 257, 299):
        cut = slice(row, row + 1)
        alone = best_ages(
            shape[cut], np.log(scale[cut]), weight[cut], planned[cut], failure[cut], None
        )
        assert alone.age == pytest.approx(whole.age[cut], rel=1e-12)


FIRST = np.zeros(1, int)  # every unit follows the first row of lives


@pytest.mark.parametrize("age", [2.0, 12.0, 25.0])
def test_given_alive_all_draws_equal_is_the_later_of_age_and_best(age):
    shape, scale, planned, failure = 3.5, 15.0, 40.0, 240.0
    rate = float(age_replacement_weibull(shape, scale, planned, failure).rate)
    exact = one_time_weibull(shape, scale, planned, failure, rate).given_alive(age)
    found = best_given_alive(
        *_rows(*[(shape, scale)] * 9), _one(planned), _one(failure), _one(rate), FIRST, _one(age)
    )
    # no parabola here: the next age of a table that widens in steps of 6.5 %
    assert found == pytest.approx([float(exact)], rel=0.065)
    assert found >= age


def test_given_alive_hears_that_bad_batches_would_be_gone():
    # half of such sets last six years, half thirty: at fifteen only the good ones are left
    lives, planned, failure, rate = ((5.0, 6.0), (5.0, 30.0)), 40.0, 240.0, 9.0
    new = best_ages(*_rows(*lives), _one(planned), _one(failure), _one(rate)).age
    found = best_given_alive(
        *_rows(*lives), _one(planned), _one(failure), _one(rate), FIRST, _one(15.0)
    )
    good = float(one_time_weibull(5.0, 30.0, planned, failure, rate).wait)
    assert new < 8.0
    assert found == pytest.approx([good], rel=0.065)


def test_given_alive_never_where_what_is_left_does_not_wear_out():
    found = best_given_alive(
        *_rows(*[(0.7, 15.0)] * 3), _one(40.0), _one(240.0), _one(20.0), FIRST, _one(10.0)
    )
    assert np.isinf(found[0])
