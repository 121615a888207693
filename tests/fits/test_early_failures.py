"""Failures soon after a job, beside those that come by luck: by hand and against scipy."""

import numpy as np
import polars as pl
import pytest
from scipy import stats

from fleet.errors import BadFrame
from fleet.fits.early_failures import FRESH, WATCHED, at_least, early_failures


def jobs(*rows):
    return pl.DataFrame(rows, schema=WATCHED, orient="row")


def fresh(*rows):
    return pl.DataFrame(rows, schema=FRESH, orient="row")


def test_as_many_or_more_by_hand():
    # Chances 1/2 and 1/4: none 3/8, one 1/2, two 1/8.
    chances = np.array([[0.5, 0.25]])
    assert [at_least(chances, k)[0] for k in range(4)] == [1.0, 0.625, 0.125, 0.0]


@pytest.mark.parametrize("k", [0, 1, 3, 10])
def test_equal_chances_are_binomial(k):
    chances = np.full((1, 25), 0.13)
    assert at_least(chances, k)[0] == pytest.approx(stats.binom.sf(k - 1, 25, 0.13), rel=1e-12)


def test_unequal_chances_are_poisson_binomial():
    """scipy.stats.poisson_binom."""
    p = np.random.default_rng(2).random(30) * 0.2
    for k in (1, 4, 9):
        law = stats.poisson_binom(p)
        assert at_least(p[None, :], k)[0] == pytest.approx(law.sf(k - 1), rel=1e-9)


def test_expected_and_chance_by_hand():
    """Parts: exponential with scale 20; as many failures of other causes, 0.05 a year. Watched 1
    and 2 years: 1 - exp(-0.1), 1 - exp(-0.2).
    """
    got = early_failures(
        jobs(("M", 1.0, True), ("M", 2.0, False)), fresh(("M", 1.0, 1.0, 20.0, 0.05))
    ).row(0, named=True)
    a, b = 1 - np.exp(-0.1), 1 - np.exp(-0.2)
    assert got == {
        "model": "M",
        "watched_jobs": 2,
        "failed": 1,
        "expected": pytest.approx(a + b, rel=1e-12),
        "chance": pytest.approx(1 - np.exp(-0.3), rel=1e-12),
    }


def test_draws_are_averaged_by_weight():
    law = fresh(("M", 1.0, 1.0, 10.0, 0.0), ("M", 3.0, 1.0, 1e9, 0.0))
    got = early_failures(jobs(("M", 1.0, True)), law).row(0, named=True)
    assert got["expected"] == pytest.approx((1 - np.exp(-0.1)) / 4, rel=1e-6)
    assert got["chance"] == pytest.approx(got["expected"], rel=1e-12)


def test_wear_out_leaves_no_room_for_early_failures_and_none_failed_is_no_evidence():
    law = fresh(("M", 1.0, 4.0, 18.0, 0.0), ("N", 1.0, 4.0, 18.0, 0.0))
    rows = [("M", 0.5, i < 2) for i in range(20)] + [("N", 0.5, False)] * 20
    got = early_failures(jobs(*rows), law)
    bad, good = got.rows(named=True)
    assert bad["chance"] < 1e-8
    assert good["chance"] == 1.0


def test_models_nobody_knows_lives_of_and_jobs_nobody_watched():
    got = early_failures(jobs(("M", 0.5, False), ("N", 0.0, False)), fresh())
    assert got.rows() == [("M", 1, 0, None, None)]


def test_faults_are_refused():
    with pytest.raises(BadFrame, match="less than no time"):
        early_failures(jobs(("M", -1.0, False)), fresh())
