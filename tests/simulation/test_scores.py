"""Scores worked by hand on a few units."""

import math

import numpy as np
import polars as pl
import pytest
from fleets.cost import cost_curve
from fleets.life import Law
from fleets.scores import (
    SCORED,
    calibration_error,
    cost_ratio,
    coverage,
    coverage_error,
    score,
    share_of_way,
    way_error,
)

from fleet.decisions import age_replacement_weibull


def _scored(*rows):
    """Rows of fleet, true, p_fail, low, high, advised, best, run to failure."""
    names = ("fleet", "true", "p_fail", "p_fail_low", "p_fail_high", "advised", "best",
             "run_to_failure")  # fmt: skip
    frame = pl.DataFrame(rows, schema=names, orient="row").with_columns(
        unit=pl.int_range(pl.len()).cast(pl.String), weight=1.0 / pl.len().over("fleet")
    )
    return frame.select(pl.col(c).cast(dtype) for c, dtype in SCORED.items())


def test_fleets_count_the_same_whatever_their_size():
    scored = _scored(
        ("a", 0.5, 0.4, 0.3, 0.6, 1.0, 1.0, 2.0),  # held
        ("b", 0.5, 0.1, 0.0, 0.2, 3.0, 1.0, 4.0),  # above
        ("b", 0.1, 0.3, 0.2, 0.4, 1.0, 1.0, 4.0),  # below
        ("b", 0.3, 0.3, None, None, 2.0, 1.0, 4.0),  # no limits hold everything
        ("b", 0.9, None, None, None, 2.0, 1.0, 4.0),  # no answer
    )
    held, above, below = coverage(scored)
    assert (held, above, below) == pytest.approx((2 / 3, 1 / 6, 1 / 6))
    # Fleet a: 1, 1, 2. Fleet b: 2, 1, 4. (3 - 2) / (6 - 2).
    assert share_of_way(scored) == pytest.approx(1 / 4)
    # 1/2 and 2/4.
    assert cost_ratio(scored) == (0.5, 0.0)
    assert score(scored).answered == pytest.approx((1 + 3 / 4) / 2)


def test_calibration_is_the_mean_gap_of_the_bins():
    rows = [("a", true, said, 0.0, 1.0, 1.0, 1.0, 2.0) for said, true in
            ((0.1, 0.2), (0.2, 0.1), (0.6, 0.9), (0.8, 0.7))]  # fmt: skip
    # Two bins: means 0.15 and 0.15, 0.7 and 0.8.
    assert calibration_error(_scored(*rows), bins=2) == pytest.approx(0.05)
    # Four bins: each its own gap.
    assert calibration_error(_scored(*rows), bins=4) == pytest.approx((0.1 + 0.1 + 0.3 + 0.1) / 4)


def test_nothing_answered_has_no_coverage():
    scored = _scored(("a", 0.5, None, None, None, 2.0, 1.0, 2.0))
    assert coverage(scored) == (None, None, None)
    assert calibration_error(scored) is None
    assert share_of_way(scored) == 1.0


def test_worse_than_running_to_failure_is_more_than_two_per_cent():
    scored = _scored(*(("abcd"[n], 0.5, None, None, None, cost, 1.0, 2.0)
                       for n, cost in enumerate((2.0, 2.03, 2.05, 1.0))))  # fmt: skip
    ratio, worse = cost_ratio(scored)
    assert ratio == pytest.approx((1.0 + 1.015 + 1.025 + 0.5) / 4)
    assert worse == 0.25


@pytest.mark.parametrize(("shape", "failure"), [(2.0, 3.0), (4.0, 8.0), (6.0, 1.5)])
def test_costs_are_those_of_classic_age_replacement(shape, failure):
    curve = cost_curve(Law(form="weibull", shape=shape), failure=failure)
    best = age_replacement_weibull(shape, 1.0, 1.0, failure)
    assert curve.best == pytest.approx(float(best.rate), rel=1e-5)
    assert curve.at(np.array([float(best.age)]))[0] == pytest.approx(curve.best, rel=1e-5)
    assert curve.run_to_failure == pytest.approx(failure / math.gamma(1 + 1 / shape), rel=1e-5)
    assert curve.at(np.array([np.inf]))[0] == curve.run_to_failure


def test_without_wear_out_nothing_beats_running_to_failure():
    for shape in (0.7, 1.0):
        curve = cost_curve(Law(form="weibull", shape=shape), failure=5.0)
        assert curve.best == pytest.approx(curve.run_to_failure, rel=1e-9)
        assert curve.at(np.array([0.3]))[0] > curve.run_to_failure
    # Shape 1, replaced at age 1: (e^-1 + 5 (1 - e^-1)) / (1 - e^-1).
    expected = (math.exp(-1) + 5 * (1 - math.exp(-1))) / (1 - math.exp(-1))
    assert curve.at(np.array([1.0]))[0] == pytest.approx(expected, rel=1e-5)


def test_the_cost_of_a_batch_with_a_bad_share_is_that_of_the_mixture():
    law = Law(form="bad_share", shape=3.0, bad_factor=0.5)
    curve = cost_curve(law, failure=4.0, bad=0.2)
    mean = math.gamma(4 / 3) * (0.8 + 0.2 * 0.5)
    assert curve.run_to_failure == pytest.approx(4.0 / mean, rel=1e-5)


def test_there_is_no_way_where_running_to_failure_is_best():
    scored = _scored(("a", 0.5, None, None, None, 2.5, 2.0, 2.0))
    assert share_of_way(scored) is None
    assert way_error(scored) is None
    assert cost_ratio(scored) == (1.25, 1.0)


def test_errors_come_from_the_spread_between_fleets():
    scored = _scored(
        ("a", 0.5, 0.4, 0.3, 0.6, 1.0, 1.0, 2.0),
        ("b", 0.5, 0.1, 0.0, 0.2, 2.0, 1.0, 4.0),
    )
    # One fleet held wholly, the other not at all: sd sqrt(1/2) over sqrt 2.
    assert coverage_error(scored) == pytest.approx(0.5)
    # Gone 0 of 1 and 1 of 3, way 1/4: sqrt((0 - 1/4)^2 + (1 - 3/4)^2) / 4.
    assert way_error(scored) == pytest.approx(math.sqrt(2 * (1 / 4) ** 2) / 4)
    alone = scored.filter(pl.col("fleet") == "a")
    assert coverage_error(alone) is None
    assert way_error(alone) == 0.0
