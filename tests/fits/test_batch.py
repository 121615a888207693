"""The quick batch and the careful search give the same answers; groups keep to themselves."""

import numpy as np
import polars as pl
import pytest

from fleet.fits import fit_weibull
from fleet.fits.rows import cut_rows
from fleet.fits.solver import batch
from fleet.fits.solver.careful import solve_carefully
from fleet.fits.solver.fitted import Fits
from fleet.fits.weibull import HAZARDS

LEVEL = 0.95


@pytest.fixture(scope="module")
def lives(random_groups):
    return random_groups(160, seed=3)


@pytest.fixture(scope="module")
def quick(lives):
    """What the quick batch solved, and the groups it left alone."""
    rows = cut_rows(lives, ("g",))
    fits = Fits.empty(rows.groups, len(HAZARDS))
    everything = np.arange(rows.groups)
    slow, odd = batch._solve_block(rows, everything, LEVEL, HAZARDS, fits, 1.0)
    return rows, fits, np.concatenate([slow, odd])


def test_quick_and_careful_agree(quick):
    rows, fits, odd = quick
    careful = Fits.empty(rows.groups, len(HAZARDS))
    careful.failures[:] = fits.failures
    solve_carefully(rows, np.arange(rows.groups), LEVEL, HAZARDS, careful)
    done = np.setdiff1d(np.arange(rows.groups), odd)
    assert len(done) > 100
    assert fits.exists[done].sum() > 80
    np.testing.assert_array_equal(fits.exists[done], careful.exists[done])
    for ours, theirs in (
        (fits.shape, careful.shape),
        (fits.scale, careful.scale),
        *zip(fits.limits, careful.limits, strict=True),
    ):
        ours, theirs = (np.where((v > 0) & np.isfinite(v), v, np.nan)[done] for v in (ours, theirs))
        np.testing.assert_allclose(ours, theirs, rtol=1e-7)
    np.testing.assert_allclose(fits.value[done], careful.value[done], atol=1e-8)


def test_a_group_alone_or_among_many(lives):
    together = fit_weibull(lives, by=["g"])
    for g in (0, 7, 31, 66, 101, 159):
        alone = fit_weibull(lives.filter(g=g))
        among = together.filter(g=g).drop("g")
        assert among["reason"].to_list() == alone["reason"].to_list()
        for column in alone.columns:
            if alone.schema[column] == pl.Float64 and alone[column][0] is not None:
                assert among[column][0] == pytest.approx(alone[column][0], rel=1e-9)
            else:
                assert among[column][0] == alone[column][0]


def test_many_groups_on_several_threads_as_few_on_one(lives, monkeypatch):
    expected = fit_weibull(lives, by=["g"])
    monkeypatch.setattr(batch, "_BLOCK", 300)
    monkeypatch.setattr(batch.os, "cpu_count", lambda: 3)
    assert_same(fit_weibull(lives, by=["g"]), expected)


def assert_same(one, two):
    from polars.testing import assert_frame_equal

    assert_frame_equal(one, two, rel_tol=1e-9, abs_tol=1e-9)


def test_maxima_are_those_of_the_fits(lives):
    rows = cut_rows(lives, ("g",))
    only, full = batch.maxima(rows), fit_weibull(lives, by=["g"])
    assert only.exists.tolist() == full["exists"].to_list()
    shape = full["shape"].fill_null(np.nan).to_numpy()
    np.testing.assert_allclose(np.where(only.exists, only.shape, np.nan), shape, rtol=1e-8)


def test_groups_without_failures_bound_the_scale(make_lives):
    # exp(c) A(b) = 1.92 at the edge; by brute force over shapes
    rows = make_lives([(0.0, 4.0 + i, None) for i in range(6)])
    row = fit_weibull(rows).row(0, named=True)
    shapes = np.exp(np.linspace(-6.0, 6.0, 200_001))
    drop = 0.5 * 3.841458820694124
    log_sum = np.logaddexp.reduce([shapes * np.log(4.0 + i) for i in range(6)])
    for hazard, name in zip(HAZARDS, ("scale", "b10"), strict=True):
        smallest = np.exp(((log_sum - np.log(drop / hazard)) / shapes).min())
        bounded = 6.0 * hazard > drop
        if bounded:
            assert row[f"{name}_low"] == pytest.approx(smallest, rel=1e-6)
        else:
            assert row[f"{name}_low"] is None
        assert row[f"{name}_high"] is None


def _late_with_intervals(groups, seed):
    """Lives all entered late, some failures known to the day and some within a span."""
    rng = np.random.default_rng(seed)
    rows = []
    for g in range(groups):
        shape, spans = rng.choice([0.7, 1.0, 1.5, 3.0, 6.0]), rng.choice([0.1, 0.5, 0.9])
        for _ in range(int(rng.choice([40, 80, 200]))):
            entry = rng.uniform(0.5, 25.0)
            fails = 10.0 * ((entry / 10.0) ** shape + rng.exponential()) ** (1.0 / shape)
            until = entry + 6.0 * rng.exponential()
            if fails > until:
                low, high = until, None
            elif rng.random() < spans:
                low, high = max(entry, fails - 2.0 * rng.random()), fails + 2.0 * rng.random()
            else:
                low = high = fails
            rows.append((g, entry, low, high, None, float(rng.integers(1, 3))))
    columns = ("entry", "low", "high", "known_by", "count")
    return pl.DataFrame(
        rows, schema={"g": pl.Int64, **dict.fromkeys(columns, pl.Float64)}, orient="row"
    )


@pytest.mark.parametrize("level", [LEVEL, None])
def test_late_lives_with_spans_are_solved_quickly_and_alike(level):
    rows = cut_rows(_late_with_intervals(60, seed=12), ("g",))
    every = np.arange(rows.groups)
    quick, careful = (Fits.empty(rows.groups, len(HAZARDS)) for _ in range(2))
    left = np.concatenate(batch._solve_block(rows, every, level, HAZARDS, quick, 1.0))
    careful.failures[:] = quick.failures
    solve_carefully(rows, every, level, HAZARDS, careful)
    done = np.setdiff1d(every, left)
    assert len(done) > 35
    np.testing.assert_array_equal(quick.exists[done], careful.exists[done])
    np.testing.assert_allclose(quick.value[done], careful.value[done], atol=1e-8)
    limits = zip(quick.limits, careful.limits, strict=True) if level else ()
    for ours, theirs in ((quick.shape, careful.shape), (quick.scale, careful.scale), *limits):
        np.testing.assert_allclose(ours[done], theirs[done], rtol=1e-7)


def test_a_peak_below_the_edge_of_shape_zero_is_no_maximum():
    # a hazard that falls faster than any Weibull's: past their entry ages lives follow a power law
    rng = np.random.default_rng(5)
    entry = rng.uniform(1.0, 4.0, 400)
    fails = entry * np.exp(0.4 * rng.exponential(size=400) ** 2.5)
    lives = pl.DataFrame(
        {
            "g": 0, "entry": entry, "low": entry + 0.9 * (fails - entry), "high": fails,
            "known_by": None, "count": 1.0,
        },
        schema_overrides={"known_by": pl.Float64},
    )  # fmt: skip
    row = fit_weibull(lives, by=["g"]).row(0, named=True)
    assert not row["exists"]
    assert row["reason"] is not None
