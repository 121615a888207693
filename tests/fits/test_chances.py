"""Survival to an age and chances within a span: against the region's edge and by hand."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.fits import fit_weibull, weibull_region
from fleet.fits.chances import weibull_chances
from fleet.fits.rows import cut_rows
from fleet.fits.solver.newton import Source, sloped
from fleet.fits.solver.packed import pack
from fleet.fits.solver.paths import LogHazard

SPANS = [(0.0, 300.0), (200.0, 450.0), (450.0, 451.0)]


def test_against_a_finely_drawn_region(nist_54):
    # the limits of any function are its range over the edge of the likelihood region
    edge = weibull_region(nist_54, level=0.95, points=4000)
    fit = fit_weibull(nist_54).row(0, named=True)
    chances = weibull_chances(nist_54, SPANS)
    for row in chances.iter_rows(named=True):

        def chance(shape, scale, row=row):
            return -np.expm1((row["since"] / scale) ** shape - (row["until"] / scale) ** shape)

        over_edge = chance(edge["shape"].to_numpy(), edge["scale"].to_numpy())
        assert row["chance"] == pytest.approx(chance(fit["shape"], fit["scale"]), rel=1e-9)
        assert row["chance_low"] == pytest.approx(over_edge.min(), rel=1e-5)
        assert row["chance_high"] == pytest.approx(over_edge.max(), rel=1e-5)


def test_survival_at_b10_is_nine_tenths(random_groups):
    lives = random_groups(60, seed=8)
    fits = fit_weibull(lives, by=["g"]).filter("exists")
    for fit in fits.head(12).iter_rows(named=True):
        row = weibull_chances(lives.filter(g=fit["g"]), [(0.0, fit["b10"])]).row(0, named=True)
        assert row["chance"] == pytest.approx(0.1, rel=1e-8)
        # where B10 is at its limit, survival there is at its limit of nine tenths
        if fit["b10_low"] is not None:
            at = weibull_chances(lives.filter(g=fit["g"]), [(0.0, fit["b10_low"])])
            assert at["chance_high"][0] == pytest.approx(0.1, rel=1e-5)


def test_alone_or_among_others_with_odd_groups_between(random_groups, make_lives):
    lives = random_groups(40, seed=9)
    scale = float(lives["low"].median())
    spans = [(0.0, scale), (scale, 1.5 * scale)]
    together = weibull_chances(lives, spans, by=["g"])
    assert together.height == 2 * lives["g"].n_unique()
    for g in (0, 3, 17, 39):
        alone = weibull_chances(lives.filter(g=g), spans)
        among = together.filter(g=g).drop("g")
        for column in alone.columns:
            assert among[column].to_list() == pytest.approx(alone[column].to_list(), rel=1e-7)


def test_no_failure_has_no_chance(make_lives):
    row = weibull_chances(make_lives([(0.0, 9.0, None)] * 5), [(1.0, 2.0)]).row(0, named=True)
    assert row["chance"] is None
    assert row["chance_high"] is None


@pytest.mark.parametrize("span", [(2.0, 2.0), (3.0, 1.0), (-1.0, 2.0), (0.0, np.inf)])
def test_what_is_no_span(nist_54, span):
    with pytest.raises(BadInput, match="no span"):
        weibull_chances(nist_54, [span])


def test_slopes_along_a_log_hazard_against_central_differences(random_groups):
    packed = pack(cut_rows(random_groups(20, seed=4), ("g",)))
    rng = np.random.default_rng(2)
    early = np.where(rng.random((3, packed.groups)) < 0.3, -np.inf, rng.uniform(-1.5, -0.5))
    path = LogHazard(early=early, late=rng.uniform(-0.4, 0.3, (3, packed.groups)))
    u, v, h = rng.uniform(-0.5, 1.3, (3, packed.groups)), rng.uniform(-2.0, 0.5), 1e-5
    v = np.full(u.shape, v)
    source = Source.exact(packed)

    def f(du, dv):
        return sloped(packed, source, path, u + du, v + dv)

    d = f(0.0, 0.0)
    size = 1.0 + np.abs(d.value) + np.abs(d.uu) + np.abs(d.vv)
    for ours, up, down in (
        (d.u, f(h, 0).value, f(-h, 0).value),
        (d.v, f(0, h).value, f(0, -h).value),
        (d.uu, f(h, 0).u, f(-h, 0).u),
        (d.uv, f(h, 0).v, f(-h, 0).v),
        (d.vv, f(0, h).v, f(0, -h).v),
    ):
        np.testing.assert_allclose(ours / size, (up - down) / (2.0 * h) / size, atol=1e-6)


def test_group_columns_come_back(nist_54):
    lives = nist_54.with_columns(model=pl.lit("a"))
    out = weibull_chances(lives, SPANS, by=["model"])
    assert out.columns == ["model", "since", "until", "chance", "chance_low", "chance_high"]
    assert out["model"].to_list() == ["a"] * 3
