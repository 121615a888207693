"""Tests of equal lives, and the bound without failures."""

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.fits import compare, fit_weibull, scale_bound


def test_log_rank_by_hand(make_lives):
    # a fails at 1, b at 2; c = d = 1 good at 3. At 1: n = (2, 2), expected 1/2, variance 1/4;
    # at 2: n = (1, 2), expected 1/3, variance 2/9. Surplus 1 - 5/6 = 1/6 over 17/36.
    lives = make_lives([(0.0, 1.0, 1.0), (0.0, 3.0, None), (0.0, 2.0, 2.0), (0.0, 3.0, None)])
    out = compare(lives.with_columns(g=pl.Series(["a", "a", "b", "b"])), ["g"])
    row = out.filter(pl.col("test") == "log-rank").row(0, named=True)
    assert row["statistic"] == pytest.approx((1 / 6) ** 2 / (17 / 36))
    assert row["degrees_of_freedom"] == 1


def test_likelihood_ratio_from_the_fits(nist_54):
    lives = pl.concat(
        [
            nist_54.with_columns(g=pl.lit("a")),
            nist_54.with_columns(pl.col("low", "high") * 1.5, g=pl.lit("b")),
        ]
    )
    parts = fit_weibull(lives, by=["g"])["log_likelihood"].sum()
    whole = fit_weibull(lives)["log_likelihood"].item()
    row = compare(lives, ["g"]).filter(pl.col("test") == "likelihood-ratio").row(0, named=True)
    assert row["statistic"] == pytest.approx(2 * (parts - whole))
    assert row["degrees_of_freedom"] == 2


def test_nothing_to_compare(make_lives):
    lives = make_lives([(0.0, 1.0, 2.0), (0.0, 3.0, None)]).with_columns(g=pl.Series(["a", "b"]))
    assert compare(lives, ["g"])["statistic"].to_list() == [None, None]
    with pytest.raises(BadInput, match="columns"):
        compare(lives, [])


def test_bound_without_failures(make_lives):
    # Nelson (1985): (S / -ln(1 - level)) ** (1 / shape); 18.83 and 9.1352 computed from it
    lives = make_lives([(0.0, 10.0, None, None, 20.0)])
    assert scale_bound(lives, 3.0) == pytest.approx(18.83, abs=5e-3)
    ten = make_lives([(0.0, 5.0, None, None, 10.0)])
    assert scale_bound(ten, 2.0) == pytest.approx(9.1352, abs=5e-5)
    assert scale_bound(make_lives([(5.0, 5.0, None)]), 2.0) is None
    with pytest.raises(BadInput, match="failure"):
        scale_bound(make_lives([(0.0, 5.0, 5.0)]), 2.0)
    with pytest.raises(BadInput, match="shape"):
        scale_bound(lives, 0.0)
