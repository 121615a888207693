"""The edge of the likelihood region."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.fits import (
    fit_weibull,
    hazard_curve,
    hazard_points,
    row_log_likelihood,
    weibull_region,
)
from fleet.fits.roots import chi_square_1, normal_quantile


def test_quantiles():
    # tables of the normal and chi-square distributions
    assert normal_quantile(0.975) == pytest.approx(1.959963984540054, abs=1e-12)
    assert chi_square_1(0.95) == pytest.approx(3.841458820694124, abs=1e-10)
    assert chi_square_1(0.90) == pytest.approx(2.705543454095404, abs=1e-10)


def test_every_point_lies_on_the_contour(nist_54):
    region = weibull_region(nist_54, level=0.9)
    top = fit_weibull(nist_54)["log_likelihood"].item()
    values = [
        row_log_likelihood(nist_54, b, s).sum() for b, s in region.select("shape", "scale").rows()
    ]
    assert np.allclose(values, top - 0.5 * chi_square_1(0.9), atol=1e-8)
    assert not region["open"].any()
    assert 180 <= region.height <= 200


def test_its_range_gives_the_profile_limits(nist_54):
    region = weibull_region(nist_54, level=0.95)
    fit = fit_weibull(nist_54, level=0.95).row(0, named=True)
    b10 = region["scale"] * (-np.log(0.9)) ** (1.0 / region["shape"])
    for values, name in ((region["shape"], "shape"), (region["scale"], "scale"), (b10, "b10")):
        assert values.min() == pytest.approx(fit[f"{name}_low"], rel=1e-9)
        assert values.max() == pytest.approx(fit[f"{name}_high"], rel=1e-9)


def test_chance_at_an_age_against_its_own_profile(nist_54):
    # S(300) over the region against scipy's search along parameters of equal S(300)
    from scipy.optimize import minimize_scalar

    region = weibull_region(nist_54, level=0.95)
    hazard = (300.0 / region["scale"].to_numpy()) ** region["shape"].to_numpy()
    top = fit_weibull(nist_54)["log_likelihood"].item()
    for h in (hazard.min(), hazard.max()):
        best = minimize_scalar(
            lambda b, h=h: -row_log_likelihood(nist_54, b, 300.0 / h ** (1.0 / b)).sum(),
            bounds=(0.3, 6.0),
        )
        # between points of the edge the extreme is missed by a little
        assert -best.fun == pytest.approx(top - 0.5 * chi_square_1(0.95), abs=2e-3)


def test_open_regions_are_marked(make_lives):
    lives = make_lives([(0.0, 3.0, 10.0), (0.0, 5.0, 20.0), (0.0, 4.0, None)])
    region = weibull_region(lives)
    assert region["open"].any()
    assert not region["open"].all()
    assert region.select(pl.col("shape", "scale").is_finite().all()).row(0) == (True, True)


def test_groups_without_information_have_no_points(make_lives):
    assert weibull_region(make_lives([(0.0, 3.0, None)])).is_empty()
    assert weibull_region(make_lives([(0.0, 3.0, 3.0)])).is_empty()
    assert weibull_region(make_lives([])).columns == ["shape", "scale", "open"]
    with pytest.raises(BadInput, match="points"):
        weibull_region(make_lives([(0.0, 3.0, None)]), points=3)


def test_hazards_with_limits(nist_54):
    fit = fit_weibull(nist_54).row(0, named=True)
    rates = hazard_points(fit, weibull_region(nist_54, level=0.95), np.array([100.0, 400.0]))
    want = fit["shape"] / fit["scale"] * (400.0 / fit["scale"]) ** (fit["shape"] - 1.0)
    assert rates["hazard"][1] == pytest.approx(want)
    assert (rates["hazard_low"] < rates["hazard"]).all()
    assert (rates["hazard"] < rates["hazard_high"]).all()
    with pytest.raises(BadInput, match="above 0"):
        hazard_points(fit, weibull_region(nist_54), np.array([0.0]))


def test_hazard_curve_by_group(nist_54, make_lives):
    none = make_lives([(0.0, 3.0, None)]).with_columns(model=pl.lit("none"))
    both = pl.concat([nist_54.with_columns(model=pl.lit("some")), none])
    out = hazard_curve(both, by=["model"])
    assert out["model"].unique().to_list() == ["some"]
    assert out.columns == ["model", "age", "hazard", "hazard_low", "hazard_high", "supported"]
    assert out["age"].max() == 500.0
    assert out["supported"].all()
