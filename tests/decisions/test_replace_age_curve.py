import math

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions import (
    Costs,
    age_replacement_curve,
    age_replacement_weibull,
    one_time_curve,
    one_time_weibull,
)
from fleet.errors import BadFrame

COSTS = Costs(planned=1.0, failure=5.0)


def curve(ages, survival):
    return pl.DataFrame({"age": ages, "survival": survival})


def weibull_by_day(shape, scale, last):
    ages = np.arange(last + 1, dtype=float)
    return curve(ages, np.exp(-((ages / scale) ** shape)))


def test_all_failing_at_one_age_are_replaced_just_before_it():
    # steps: 1 until age 4, then 0: 1 planned recap every 4 units of age
    best = age_replacement_curve(curve([2.0, 4.0, 6.0], [1.0, 0.0, 0.0]), COSTS, steps=True)
    assert best.age == 4.0
    assert best.cost == pytest.approx(1 / 4)


def test_steps_by_hand():
    # alive on reaching 1, 2, 3: 1, 3/4, 1/2; lived 1, 7/4, 9/4
    # cost 1/1, (3/4 + 5/4) / (7/4) = 8/7, (1/2 + 5/2) / (9/4) = 4/3
    best = age_replacement_curve(curve([1.0, 2.0, 3.0], [0.75, 0.5, 0.25]), COSTS, steps=True)
    assert (best.age, best.cost) == (1.0, pytest.approx(1.0))


def test_uniform_lives_by_hand():
    # R = 1 - t over (0, 1): (1 + 4t) / (t - t^2/2) is lowest where 2 t^2 + t - 1 = 0: t = 1/2,
    # and there it is 3 / (3/8) = 8
    ages = np.linspace(0.0, 1.0, 101)
    best = age_replacement_curve(curve(ages, 1.0 - ages), COSTS)
    assert best.age == pytest.approx(0.5)
    assert best.cost == pytest.approx(8.0, rel=1e-12)


def test_constant_hazard_never_pays():
    assert age_replacement_curve(weibull_by_day(1.0, 300.0, 5000), COSTS).age is None


@pytest.mark.parametrize("shape", [1.5, 3.0, 6.0])
@pytest.mark.parametrize("failure", [3.0, 10.0])
def test_a_weibull_by_the_day_agrees_within_half_a_day(shape, failure):
    best = age_replacement_weibull(shape, 4000.0, 1.0, failure)
    grid = age_replacement_curve(
        weibull_by_day(shape, 4000.0, 20_000), Costs(planned=1.0, failure=failure)
    )
    assert abs(grid.age - best.age) <= 0.5 + 1e-3
    assert grid.cost == pytest.approx(best.rate, rel=1e-6)


@given(
    shape=st.floats(1.5, 6.0),
    failure=st.floats(2.0, 10.0),
    share=st.floats(0.3, 3.0),
    alive_at=st.floats(0.0, 1500.0),
)
def test_replacing_once_on_a_weibull_by_the_day(shape, failure, share, alive_at):
    rate = share * failure / 1000.0
    once = one_time_weibull(shape, 1000.0, 1.0, failure, rate)
    exact = float(once.given_alive(alive_at))
    grid = one_time_curve(
        weibull_by_day(shape, 1000.0, 4000),
        Costs(planned=1.0, failure=failure),
        rate=rate,
        alive_at=alive_at,
    )
    if exact < 3000.0 and math.exp(-((exact / 1000.0) ** shape)) > 1e-6:
        assert abs(grid.age - exact) <= 1.0


def test_replacing_once_by_hand_and_asked_again_of_a_survivor():
    # steps: 3/4 live past 1, 1/2 past 2, all gone at 3; every unit of age after costs 1
    lives = curve([1.0, 2.0, 3.0], [0.75, 0.5, 0.0])
    # from new: 1 at 0, 1 - 1 at 1, 2 - 7/4 at 2, 3 - 9/4 at 3
    assert one_time_curve(lives, COSTS, rate=1.0, steps=True).age == 1.0
    # alive at 1.5 (share 3/4): now 1; at 2 before the step 1 - 1/2; at 3: 1*2/3 + 5/3 - 1/2 - 2/3
    later = one_time_curve(lives, COSTS, rate=1.0, alive_at=1.5, steps=True)
    assert (later.age, later.cost) == (2.0, pytest.approx(1 / 2))


def test_a_curve_without_its_beginning_starts_at_one():
    whole = curve([0.0, 1.0, 2.0], [1.0, 0.9, 0.2])
    assert age_replacement_curve(whole, COSTS) == age_replacement_curve(whole[1:], COSTS)


@pytest.mark.parametrize(
    ("ages", "survival", "words"),
    [
        ([1.0, 1.0], [0.5, 0.5], "do not rise"),
        ([-1.0, 1.0], [1.0, 0.5], "do not rise"),
        ([1.0, 2.0], [0.5, 0.6], "only fall"),
        ([1.0, 2.0], [1.5, 0.6], "only fall"),
        ([1.0, float("nan")], [0.6, 0.5], "do not rise"),
    ],
)
def test_what_is_no_curve_is_refused(ages, survival, words):
    with pytest.raises(BadFrame, match=words):
        age_replacement_curve(curve(ages, survival), COSTS)


def test_a_unit_beyond_the_curve_is_refused():
    lives = curve([1.0, 2.0], [0.5, 0.0])
    with pytest.raises(BadFrame, match="ends at age 2"):
        one_time_curve(lives, COSTS, rate=1.0, alive_at=3.0)
    with pytest.raises(BadFrame, match="no life on the curve"):
        one_time_curve(lives, COSTS, rate=1.0, alive_at=2.0)
    with pytest.raises(BadFrame, match="no column survival"):
        one_time_curve(lives.drop("survival"), COSTS, rate=1.0)
