import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions import chance_failed_unseen, chance_within

shapes = st.floats(0.3, 10.0)


def test_constant_hazard_forgets_its_age():
    chances = chance_within(1.0, 10.0, [0.0, 5.0, 500.0], 2.0)
    assert chances == pytest.approx([-math.expm1(-0.2)] * 3, rel=1e-12)


def test_chance_by_hand():
    # shape 2, scale 1: from 1 to 2 the cumulative hazard grows by 4 - 1
    assert chance_within(2.0, 1.0, 1.0, 1.0) == pytest.approx(1 - math.exp(-3), rel=1e-14)


def test_no_cancellation_for_a_tiny_chance_late_in_life():
    # hazard at age 1 with shape 2: 2; over 1e-12 the chance is 2e-12
    assert chance_within(2.0, 1.0, 1.0, 1e-12) == pytest.approx(2e-12, rel=1e-3)
    assert chance_within(4.0, 1e6, 1e-3, 1e-3) == pytest.approx(15e-36, rel=1e-12)


def test_certain_failure_stays_a_number():
    assert chance_within(500.0, 1.0, 100.0, 1.0) == 1.0


@given(shape=shapes, age=st.floats(0.0, 3.0), horizon=st.floats(0.01, 3.0))
def test_chance_is_one_minus_the_ratio_of_survivals(shape, age, horizon):
    before, after = math.exp(-(age**shape)), math.exp(-((age + horizon) ** shape))
    if before > 1e-300:
        assert chance_within(shape, 1.0, age, horizon) == pytest.approx(
            1 - after / before, rel=1e-6, abs=1e-12
        )


@given(shape=shapes, age=st.floats(0.0, 3.0), first=st.floats(0.01, 2.0), more=st.floats(0.0, 2.0))
def test_a_longer_horizon_is_never_safer(shape, age, first, more):
    near, far = chance_within(shape, 1.0, age, [first, first + more])
    assert 0.0 <= near <= far <= 1.0


def test_unseen_by_hand():
    # constant hazard ln 2 a year, one year silent: q = 1/2; half noticed: (1/4) / (1/4 + 1/2)
    rate = 1 / math.log(2)
    assert chance_failed_unseen(1.0, rate, 4.0, 5.0, 0.5) == pytest.approx(1 / 3, rel=1e-12)


def test_unseen_ends():
    assert chance_failed_unseen(2.0, 1.0, 1.0, 1.0, 0.0) == 0.0  # seen today
    assert chance_failed_unseen(2.0, 1.0, 0.0, 1e9, 1.0) == 0.0  # every failure is heard of
    assert chance_failed_unseen(2.0, 1.0, 0.0, 1e9, 0.5) == 1.0
    assert chance_failed_unseen(2.0, 1.0, 0.5, 1.0, 0.0) == pytest.approx(-math.expm1(-0.75))


@given(shape=shapes, seen=st.floats(0.0, 2.0), since=st.floats(0.0, 1.0), share=st.floats(0.0, 1.0))
def test_unseen_against_its_definition(shape, seen, since, share):
    q = -np.expm1(-((seen + since) ** shape) + seen**shape)
    expected = (1 - share) * q / ((1 - share) * q + 1 - q) if q < 1 else float(share < 1)
    found = chance_failed_unseen(shape, 1.0, seen, seen + since, share)
    assert found == pytest.approx(expected, rel=1e-4, abs=1e-9)
