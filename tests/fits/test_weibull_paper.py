"""Weibull paper: by hand, published plotting positions, and points against line."""

import numpy as np
import polars as pl
import pytest

from fleet.fits import fit_weibull
from fleet.fits.weibull_paper import PAPER, plotting_positions, straight_line, weibull_paper


def test_nist_8221_regression(nist_54):
    # NIST/SEMATECH e-Handbook 8.2.2.1, its listing: intercept -4.116536, slope 1.457519
    ages = nist_54.filter(pl.col("high").is_not_null())["low"].to_numpy()
    positions = plotting_positions(10, 20)
    hazard = -np.log(1 - positions)
    assert hazard[[0, 1, 9]] == pytest.approx([0.03491627, 0.08701138, 0.64529116], abs=5e-9)
    intercept, slope = straight_line(ages, positions)
    assert intercept == pytest.approx(-4.116536, abs=5e-7)
    assert slope == pytest.approx(1.457519, abs=5e-7)
    assert 10 ** (-intercept / slope) == pytest.approx(667.336, abs=5e-3)


def test_points_stand_half_way_down_each_step(make_lives):
    paper = weibull_paper(make_lives([(0.0, float(a), float(a)) for a in (2, 3, 5, 8)]))
    assert paper.points["share_failed"].to_list() == pytest.approx([1 / 8, 3 / 8, 5 / 8, 7 / 8])
    assert paper.points.schema == paper.line.schema == PAPER
    first = paper.points.row(0, named=True)
    assert first["log_age"] == pytest.approx(np.log(2.0))
    assert first["log_cumulative_hazard"] == pytest.approx(np.log(-np.log(7 / 8)))


def test_line_is_straight_and_the_fit(nist_54):
    paper, fit = weibull_paper(nist_54), fit_weibull(nist_54).row(0, named=True)
    steps = np.diff(paper.line["log_cumulative_hazard"]) / np.diff(paper.line["log_age"])
    assert steps == pytest.approx(np.full(len(steps), fit["shape"]))
    between = paper.line.filter(pl.col("age") <= fit["scale"])["share_failed"].max()
    assert 0.5 < between < 1 - np.exp(-1)


def test_limits_hold_the_line_and_meet_the_fits_own(nist_54):
    paper, fit = weibull_paper(nist_54), fit_weibull(nist_54).row(0, named=True)
    inside = (pl.col("share_low") <= pl.col("share_failed")) & (
        pl.col("share_failed") <= pl.col("share_high")
    )
    assert paper.line.select(inside.all()).item()
    assert paper.points.select(inside.all()).item()
    # where the upper limit of the share is a tenth, B10 has its lower limit
    line = paper.line
    at = np.interp(np.log(np.log(1 / 0.9)), _height(line["share_high"]), line["log_age"])
    assert np.exp(at) == pytest.approx(fit["b10_low"], rel=2e-3)


def _height(share):
    return np.log(-np.log1p(-share.to_numpy()))


def test_late_entry_is_drawn_from_the_line(make_lives):
    lives = make_lives(
        [*((4.0, a, a) for a in (6.0, 8.0, 9.0, 11.0, 12.0)), (4.0, 12.5, None, None, 5.0)]
    )
    paper, fit = weibull_paper(lives), fit_weibull(lives).row(0, named=True)
    by_4 = 1 - np.exp(-((4.0 / fit["scale"]) ** fit["shape"]))
    assert paper.points["share_failed"][0] == pytest.approx(by_4 + (1 - by_4) * 0.05)
    assert (len(paper.notes) == 0) == (by_4 < 0.005)


def test_failures_alone_are_drawn_to_the_line(make_lives):
    lives = make_lives([(0.0, a, a, 9.0) for a in (4.0, 5.0, 6.0, 6.5, 7.0, 8.0)])
    paper, fit = weibull_paper(lives), fit_weibull(lives).row(0, named=True)
    assert fit["exists"]
    by_last = 1 - np.exp(-((8.0 / fit["scale"]) ** fit["shape"]))
    assert paper.points["share_failed"].max() == pytest.approx(by_last, rel=1e-6)
    assert any("fail by the last age" in note for note in paper.notes)


def test_groups_without_a_fit_have_points_and_no_line(make_lives):
    lives = make_lives([(0.0, 3.0, None, None, 2.0), (0.0, 5.0, 5.0, None, 3.0)])
    none = make_lives([(0.0, 3.0, None, None, 2.0)])
    both = pl.concat([lives.with_columns(g=pl.lit("a")), none.with_columns(g=pl.lit("b"))])
    paper = weibull_paper(both, by=["g"])
    assert paper.points["g"].unique().to_list() == ["a"]
    assert paper.line.is_empty()
