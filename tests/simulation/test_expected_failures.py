"""Failures to expect in the next eight quarters, beside those that come in simulated fleets.

Larger runs: `python tests/benchmarks/fleets/counts.py`; their table is in METHODS.md.
"""

import pytest
from fleets.counts import count_ahead


@pytest.fixture(scope="module", params=["old", "young"])
def counted(request):
    return count_ahead(request.param, fleets=60, failures=10, seed=4)


@pytest.mark.slow
def test_limits_hold_about_as_often_as_they_promise(counted):
    """Numbers are whole, so that 90 % limits promise some 95 %; of 60 fleets one in seven may miss
    (binomial: less than 1 in 100 by luck), and of 480 quarters one in twelve.
    """
    spans, quarters = counted
    assert spans["held"].mean() >= 0.86
    assert quarters["held"].mean() >= 0.92
    # Nor are they so wide that they say nothing.
    assert (spans["high"] - spans["low"]).mean() < 3.5 * spans["expected"].mean()


@pytest.mark.slow
def test_as_many_fail_as_expected(counted):
    spans, quarters = counted
    happened, expected = spans["happened"].sum(), spans["expected"].sum()
    assert happened > 100
    assert expected == pytest.approx(happened, rel=0.25)
    assert quarters["happened"].sum() == happened
