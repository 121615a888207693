import math
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from fleet.decisions import age_replacement_weibull, one_time_weibull
from fleet.decisions.weibull_life import mean_life, mean_life_left

shapes = st.floats(1.2, 8.0)
ratios = st.floats(1.2, 20.0)

# The formula is that of Barlow and Hunter 1960, Operations Research 8; the numbers were computed
# from it for this project, in units of the scale and of the planned cost.
TABLE = pl.read_csv(Path(__file__).with_name("age_replacement.csv"))


def reliability(age, shape, scale=1.0):
    return math.exp(-((age / scale) ** shape))


def cost_rate(age, shape, failure):
    lived = quad(reliability, 0.0, age, args=(shape,), epsabs=0, epsrel=1e-12)[0]
    alive = reliability(age, shape)
    return (alive + failure * (1 - alive)) / lived


def test_failures_at_a_constant_rate_never_pay_a_recap_and_cost_failure_over_mean_life():
    best = age_replacement_weibull(1.0, 4.0, 1.0, 5.0)
    assert best.age == math.inf
    assert best.rate == pytest.approx(5 / 4, rel=1e-14)


def test_early_failures_and_cheap_failures_never_pay_a_recap():
    best = age_replacement_weibull([0.5, 3.0, 3.0], 1.0, 1.0, [5.0, 1.0, 0.5])
    assert np.isinf(best.age).all()
    # mean life at shape 1/2 is scale * 2! = 2
    assert best.rate[0] == pytest.approx(5 / 2, rel=1e-14)


@pytest.mark.parametrize("row", list(TABLE.iter_rows(named=True)), ids=str)
def test_computed_table_of_the_classic_formula(row):
    best = age_replacement_weibull(row["shape"], 1.0, 1.0, row["cost_ratio"])
    assert best.age == pytest.approx(row["age_over_scale"], abs=6e-7)
    assert best.rate == pytest.approx(row["cost_rate"], abs=6e-7)
    run_to_failure = row["cost_ratio"] / mean_life(row["shape"], 1.0)
    assert run_to_failure == pytest.approx(row["run_to_failure"], abs=6e-7)


def test_check_value_in_days():
    best = age_replacement_weibull(2.5, 1000.0, 1.0, 5.0)
    assert best.age == pytest.approx(493.0470, abs=6e-5)
    assert best.rate == pytest.approx(0.003462043, abs=6e-10)


@given(shape=shapes, failure=ratios)
def test_classic_age_against_minimising_the_cost_by_brute_force(shape, failure):
    best = age_replacement_weibull(shape, 1.0, 1.0, failure)
    around = minimize_scalar(
        lambda log_age: cost_rate(math.exp(log_age), shape, failure),
        bounds=(math.log(best.age) - 1, math.log(best.age) + 1),
        method="bounded",
        options={"xatol": 1e-9},
    )
    assert best.rate == pytest.approx(cost_rate(float(best.age), shape, failure), rel=1e-9)
    assert best.rate == pytest.approx(around.fun, rel=1e-9)
    for age in np.geomspace(1e-3, 1e3, 25):
        assert cost_rate(age, shape, failure) >= best.rate * (1 - 1e-9)


@given(shape=shapes, failure=ratios)
def test_classic_age_solves_its_equation_to_ten_digits(shape, failure):
    age = float(age_replacement_weibull(shape, 1.0, 1.0, failure).age)

    def off(at):
        lived = quad(reliability, 0.0, at, args=(shape,), epsabs=0, epsrel=1e-13)[0]
        return shape * at ** (shape - 1) * lived + math.expm1(-(at**shape)) - 1 / (failure - 1)

    assert off(age * (1 - 1e-10)) <= 1e-13
    assert off(age * (1 + 1e-10)) >= -1e-13


@pytest.mark.parametrize("shape", [1.0001, 1.001, 1.01, 1.1, 50.0, 500.0])
@pytest.mark.parametrize("failure", [1.0001, 1.5, 5.0, 100.0, 1e6])
def test_extremes_stay_within_what_running_to_failure_costs(shape, failure):
    best = age_replacement_weibull(shape, 1.0, 1.0, failure)
    assert best.age > 0
    assert 0 < best.rate <= failure / mean_life(shape, 1.0)


@given(shape=shapes, failure=ratios, scale=st.floats(1e-3, 1e6), money=st.floats(1e-3, 1e6))
def test_units_of_age_and_money_do_not_matter(shape, failure, scale, money):
    one = age_replacement_weibull(shape, 1.0, 1.0, failure)
    other = age_replacement_weibull(shape, scale, money, money * failure)
    assert other.age == pytest.approx(one.age * scale, rel=1e-9)
    assert other.rate == pytest.approx(one.rate * money / scale, rel=1e-9)


@given(shape=shapes, failure=ratios)
def test_replacing_once_against_its_own_long_run_cost_is_the_classic_age(shape, failure):
    best = age_replacement_weibull(shape, 1.0, 1.0, failure)
    once = one_time_weibull(shape, 1.0, 1.0, failure, best.rate)
    assert once.wait == pytest.approx(best.age, rel=1e-9)
    assert once.now_until == -1


def test_replacing_once_by_hand():
    # shape 2, scale 1: hazard 2T; (5 - 1) 2T = g = 4 at T = 1/2
    once = one_time_weibull(2.0, 1.0, 1.0, 5.0, 4.0)
    assert once.wait == pytest.approx(1 / 2, rel=1e-14)
    assert once.given_alive([0.1, 2.0]).tolist() == [pytest.approx(0.5), 2.0]


def test_lives_without_wear_out_are_replaced_at_once_or_never():
    # constant rate 1/scale: at once where (5 - 1) / scale > g = 1, that is scale < 4
    steady = one_time_weibull(1.0, [3.9, 4.1], 1.0, 5.0, 1.0)
    assert steady.given_alive(7.0).tolist() == [7.0, math.inf]
    # shape 1/2, scale 1: mean life left at age a is 2 (1 + sqrt a); it is 4 at a = 1
    falling = one_time_weibull(0.5, 1.0, 1.0, 5.0, 1.0)
    assert falling.now_until == pytest.approx(1.0, rel=1e-10)
    assert falling.given_alive([0.9, 1.1]).tolist() == [0.9, math.inf]


def test_a_failure_no_dearer_than_a_recap_never_pays_whatever_comes_after():
    once = one_time_weibull([0.5, 3.0], 1.0, 5.0, 5.0, 1.0)
    assert np.isinf(once.given_alive(2.0)).all()


@given(
    shape=st.one_of(st.floats(0.4, 0.95), st.floats(1.05, 6.0)),
    failure=ratios,
    rate=st.floats(0.2, 20.0),
    age=st.floats(0.01, 2.0),
)
def test_replacing_once_given_alive_is_never_dearer_than_any_other_age(shape, failure, rate, age):
    def cost(at):
        end = min(at, 60.0)  # beyond which nobody lives where a wait is finite
        lived = quad(reliability, age, end, args=(shape,), epsabs=1e-14, epsrel=1e-11, limit=200)[0]
        alive, then = reliability(age, shape), reliability(at, shape)
        return (then + failure * (alive - then) - rate * lived) / alive

    never = failure - rate * float(mean_life_left(shape, 1.0, age))
    best = float(one_time_weibull(shape, 1.0, 1.0, failure, rate).given_alive(age))
    advised = never if math.isinf(best) else cost(best)
    for other in [age, *(age + np.geomspace(1e-3, 20.0, 25))]:
        assert advised <= cost(other) + 1e-8 * failure
    assert advised <= never + 1e-8 * failure


def test_mean_life_left_far_out_joins_on_to_its_exact_form():
    ages = np.array([500 * (1 - 1e-9), 500 * (1 + 1e-9)]) ** (1 / 0.7)
    left = mean_life_left(0.7, 1.0, ages)
    assert left[0] == pytest.approx(left[1], rel=1e-5)
