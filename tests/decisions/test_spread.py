import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions.best_ages import Lives
from fleet.decisions.chance import chance_within
from fleet.decisions.replace_age import BestOnce
from fleet.decisions.spread import added_hazard_limits, best_age_limits, weighted_quantile


def lives(estimate, shape, scale, *, wait=None, now_until=None, weight=None):
    size = len(estimate)
    return Lives(
        estimate=np.array(estimate),
        shape=np.array(shape, float),
        scale=np.array(scale, float),
        best=BestOnce(
            wait=np.array(wait or [np.inf] * size),
            now_until=np.array(now_until or [-1.0] * size),
        ),
        weight=None if weight is None else np.array(weight, float),
    )


def test_weighted_quantile_by_hand():
    values = np.array([[3.0, 1.0, 2.0, np.inf]])
    weights = np.array([1.0, 1.0, 1.0, 1.0])
    shares = (0.05, 0.25, 0.26, 0.5, 0.75, 0.95)
    found = [weighted_quantile(values, weights, share)[0] for share in shares]
    assert found == [1.0, 1.0, 2.0, 2.0, 3.0, np.inf]


@given(
    draws=st.lists(st.tuples(st.floats(0, 10), st.integers(0, 5)), min_size=1).filter(
        lambda pairs: any(w for _, w in pairs)
    ),
    share=st.floats(0.01, 0.99),
)
def test_weighted_quantile_is_that_of_the_draws_written_out(draws, share):
    written = sorted(value for value, times in draws for _ in range(times))
    place = int(np.ceil(share * len(written) * (1 - 1e-12))) - 1
    values = np.array([[value for value, _ in draws]])
    weights = np.array([float(times) for _, times in draws])
    assert weighted_quantile(values, weights, share)[0] == written[max(place, 0)]


def test_limits_take_each_units_own_points():
    points = lives([0, 0, 2], [1.0, 1.0, 2.0], [10.0, 5.0, 1.0])
    low, high = added_hazard_limits(
        points, np.array([2, 0, 1]), np.array([1.0, 3.0, 3.0]), np.array([2.0, 4.0, 4.0])
    )
    # shape 2 from 1 to 2: 4 - 1; constant hazard over one year: 1/10 and 1/5; no points: unknown
    assert low[:2] == pytest.approx([3.0, 0.1])
    assert high[:2] == pytest.approx([3.0, 0.2])
    assert np.isnan([low[2], high[2]]).all()


@given(
    shape=st.lists(st.floats(0.5, 6.0), min_size=1, max_size=5),
    age=st.floats(0.0, 30.0),
    horizon=st.floats(0.5, 5.0),
)
def test_quick_difference_agrees_with_the_careful_one(shape, age, horizon):
    points = lives([0] * len(shape), shape, [15.0] * len(shape))
    low, high = added_hazard_limits(
        points, np.array([0]), np.array([age]), np.array([age + horizon])
    )
    chances = chance_within(shape, 15.0, age, horizon)
    assert -np.expm1(-low[0]) == pytest.approx(chances.min(), rel=1e-10, abs=1e-14)
    assert -np.expm1(-high[0]) == pytest.approx(chances.max(), rel=1e-10, abs=1e-14)


def test_a_hazard_beyond_floating_point_stays_a_number():
    points = lives([0], [300.0], [1.0])
    low, high = added_hazard_limits(points, np.array([0]), np.array([50.0]), np.array([52.0]))
    assert np.isfinite([low[0], high[0]]).all()
    assert low[0] > 700


def test_best_age_limits_of_draws_and_of_an_edge():
    waits = [1.0, 2.0, 3.0, np.inf]
    edge = lives([0] * 4, [2.0] * 4, [1.0] * 4, wait=waits)
    one = np.array([0]), np.array([1.5])
    assert [x[0] for x in best_age_limits(edge, *one)] == [1.0, np.inf]
    draws = lives([0] * 4, [2.0] * 4, [1.0] * 4, wait=waits, weight=[1.0, 48.0, 48.0, 3.0])
    assert [x[0] for x in best_age_limits(draws, *one)] == [2.0, 3.0]


def test_a_point_that_says_at_once_counts_until_the_age_it_says():
    points = lives([0, 0], [0.8, 2.0], [1.0, 1.0], wait=[np.inf, 4.0], now_until=[2.0, -1.0])
    low, high = best_age_limits(points, np.array([0, 0]), np.array([1.0, 3.0]))
    assert low.tolist() == [0.0, 4.0]
    assert high.tolist() == [4.0, np.inf]
