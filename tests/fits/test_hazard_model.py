"""Distributions as cumulative hazards: against scipy and the plain Weibull likelihood."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fleet.fits import row_log_likelihood
from fleet.fits.families.exponential import EXPONENTIAL
from fleet.fits.families.hazard_model import LifeSums
from fleet.fits.families.limited_failure import LIMITED_FAILURE
from fleet.fits.families.lognormal import LOGNORMAL
from fleet.fits.families.two_causes import TWO_CAUSES, TWO_KINDS
from fleet.fits.families.weibull_model import WEIBULL
from fleet.fits.rows import cut_rows

EVERY_KIND = [
    (0.0, 3.0, 3.0),
    (0.0, 5.0, None, None, 4.0),
    (1.0, 2.5, 2.5),
    (2.0, 6.0, None, None, 2.0),
    (0.0, 0.0, 4.0),
    (1.0, 3.0, 4.5, None, 0.7),
    (0.0, 2.0, 2.0, 6.0),
    (1.5, 4.0, 5.0, 8.0, 1.5),
]
THETA = {
    "weibull": (0.3, 0.9),
    "lognormal": (-0.4, -0.2),
    "exponential": (0.2,),
    "limited_failure": (1.5, 0.7, -0.3),
    "two_causes": (-1.0, -0.5, 0.2, 1.3),
    "two_kinds": (1.0, 0.4, -0.5, 1.2, -0.8),
}
MODELS = (WEIBULL, LOGNORMAL, EXPONENTIAL, LIMITED_FAILURE, TWO_CAUSES, TWO_KINDS)


def column(*values):
    return np.array(values, dtype=float)[:, None]


@pytest.mark.parametrize("model", MODELS, ids=lambda m: m.name)
@given(x=st.floats(-3.0, 0.5))
def test_slope_is_the_slope_of_the_hazard(model, x):
    theta, step = column(*THETA[model.name]), 1e-5
    at = np.array([x - step, x + step])
    rise = np.diff(model.cumulative(at, theta))[0] / (2 * step)
    assert np.exp(model.log_slope(np.array([x]), theta))[0] == pytest.approx(rise, rel=1e-6)


@pytest.mark.parametrize("model", MODELS, ids=lambda m: m.name)
def test_small_chances_keep_their_digits(model):
    # x = -40: hazards near exp(-40 b); the ratio of hazards a little apart is exp(b dx) there
    theta = column(*THETA[model.name])
    hazard = model.cumulative(np.array([-12.0, -11.0]), theta)
    assert (hazard > 0.0).all()
    assert hazard[0] < hazard[1] < 1e-1


def test_weibull_is_the_plain_likelihood(make_lives):
    lives = make_lives(EVERY_KIND)
    sums = LifeSums(cut_rows(lives, ()))
    shape, scale = 1.7, 4.2
    c = shape * np.log(sums.typical[0] / scale)
    value = sums.log_likelihood(WEIBULL, column(c, np.log(shape)))[0]
    assert value == pytest.approx(row_log_likelihood(lives, shape, scale).sum(), rel=1e-12)


def test_lognormal_is_scipys(make_lives):
    lives = make_lives(EVERY_KIND)
    sums = LifeSums(cut_rows(lives, ()))
    mu, sigma = 1.3, 0.8
    life = stats.lognorm(s=sigma, scale=np.exp(mu))
    total = 0.0
    for entry, low, high, known, count in lives.rows():
        if high is None:
            part = life.logsf(low)
        elif high == low:
            part = life.logpdf(low)
        else:
            part = np.log(life.sf(low) - life.sf(high))
        window = life.sf(entry) - (0.0 if known is None else life.sf(known))
        total += count * (part - np.log(window))
    theta = column(mu - np.log(sums.typical[0]), np.log(sigma))
    assert sums.log_likelihood(LOGNORMAL, theta)[0] == pytest.approx(total, rel=1e-11)


def test_lognormal_far_out_against_scipy():
    theta = column(0.0, np.log(0.1))
    x = np.array([-3.0, -1.0, 0.0, 1.0, 3.0])
    assert LOGNORMAL.cumulative(x, theta) == pytest.approx(-stats.norm.logsf(x / 0.1), rel=1e-12)
    hazard = stats.norm.logpdf(x / 0.1) - stats.norm.logsf(x / 0.1) - np.log(0.1)
    assert LOGNORMAL.log_slope(x, theta) == pytest.approx(hazard, rel=1e-9)


def test_limited_failure_by_hand():
    # p = 1/4, H = log 2 at x = 0: half of a quarter has failed, S = 7/8
    theta = column(np.log(np.log(2.0)), 0.0, -np.log(3.0))
    assert LIMITED_FAILURE.cumulative(np.zeros(1), theta)[0] == pytest.approx(-np.log(7 / 8))
    # in the end three quarters remain
    assert LIMITED_FAILURE.cumulative(np.array([9.0]), theta)[0] == pytest.approx(-np.log(3 / 4))


def test_limited_failure_with_all_able_is_the_weibull():
    theta, x = column(0.4, 0.6, 300.0), np.linspace(-4.0, 2.0, 13)
    assert LIMITED_FAILURE.cumulative(x, theta) == pytest.approx(WEIBULL.cumulative(x, theta))
    assert LIMITED_FAILURE.log_slope(x, theta) == pytest.approx(WEIBULL.log_slope(x, theta))


def test_two_kinds_with_one_that_never_fails_is_limited_failure():
    x = np.linspace(-4.0, 2.0, 13)
    limited = column(0.4, 0.6, -0.7)
    mixed = column(0.4, 0.6, -39.0, 0.0, -0.7)
    assert TWO_KINDS.cumulative(x, mixed) == pytest.approx(LIMITED_FAILURE.cumulative(x, limited))


def test_two_causes_add_their_hazards():
    x, theta = np.array([0.0]), column(np.log(0.2), 0.0, np.log(0.5), 1.0)
    assert TWO_CAUSES.cumulative(x, theta)[0] == pytest.approx(0.7)
    assert np.exp(TWO_CAUSES.log_slope(x, theta))[0] == pytest.approx(0.2 + 0.5 * np.e)


def test_groups_with_and_without_rows(make_lives):
    lives = make_lives(EVERY_KIND).with_columns(g=pl.Series([0, 1] * 4))
    sums = LifeSums(cut_rows(lives, ["g"]))
    theta = np.tile(column(0.1, 0.5), 2)
    both = sums.log_likelihood(WEIBULL, theta)
    alone = sums.some(np.array([1])).log_likelihood(WEIBULL, theta[:, :1])
    assert alone[0] == pytest.approx(both[1], rel=1e-14)
