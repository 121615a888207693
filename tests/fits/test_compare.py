"""Tests of equal lives, ratios of lives, and the bound without failures."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.fits import compare, fit_weibull, scale_bound
from fleet.fits.groups.life_ages import ages_of
from fleet.fits.groups.life_ratios import life_ratios
from fleet.fits.groups.suprema import common_shape, rows_of


def _row(lives, test, by="g"):
    return compare(lives, [by]).filter(pl.col("test") == test).row(0, named=True)


def _two(nist_54, times=1.5):
    longer = nist_54.with_columns(pl.col("low", "high") * times, g=pl.lit("b"))
    return pl.concat([nist_54.with_columns(g=pl.lit("a")), longer])


def test_log_rank_by_hand(make_lives):
    # a fails at 1, b at 2; c = d = 1 good at 3. At 1: n = (2, 2), expected 1/2, variance 1/4;
    # at 2: n = (1, 2), expected 1/3, variance 2/9. Surplus 1 - 5/6 = 1/6 over 17/36.
    lives = make_lives([(0.0, 1.0, 1.0), (0.0, 3.0, None), (0.0, 2.0, 2.0), (0.0, 3.0, None)])
    row = _row(lives.with_columns(g=pl.Series(["a", "a", "b", "b"])), "log-rank")
    assert row["statistic"] == pytest.approx((1 / 6) ** 2 / (17 / 36))
    assert row["degrees_of_freedom"] == 1


def test_likelihood_ratio_from_the_fits(nist_54):
    lives = _two(nist_54)
    parts = fit_weibull(lives, by=["g"])["log_likelihood"].sum()
    whole = fit_weibull(lives)["log_likelihood"].item()
    row = _row(lives, "likelihood-ratio")
    assert row["statistic"] == pytest.approx(2 * (parts - whole))
    assert row["degrees_of_freedom"] == 2


def test_equal_shape_and_equal_scale_share_out_the_likelihood_ratio(nist_54, make_lives):
    early = make_lives([(0.0, h, h) for h in (3.0, 30.0, 90.0, 250.0)] + [(0.0, 500.0, None)] * 4)
    lives = pl.concat([_two(nist_54), early.with_columns(g=pl.lit("c"))])
    rows = {r["test"]: r for r in compare(lives, ["g"]).iter_rows(named=True)}
    shape, scale, both = (rows[t] for t in ("equal-shape", "equal-scale", "likelihood-ratio"))
    assert shape["statistic"] + scale["statistic"] == pytest.approx(both["statistic"], abs=1e-8)
    assert (shape["degrees_of_freedom"], scale["degrees_of_freedom"]) == (2, 2)


def test_groups_that_differ_in_scale_alone_have_equal_shapes(nist_54):
    row = _row(_two(nist_54), "equal-shape")
    assert row["statistic"] == pytest.approx(0.0, abs=1e-8)
    assert row["p_value"] == pytest.approx(1.0, abs=1e-3)


def test_ratio_of_lives_that_differ_by_a_known_factor(nist_54):
    out = life_ratios(_two(nist_54), ["g"])
    assert out["g"].to_list() == ["a", "b"]
    assert out["ratio"].to_list() == pytest.approx([1.0, 1.5], rel=1e-7)
    low, high = out["ratio_low"][1], out["ratio_high"][1]
    # the two groups are the same but for the factor, so the limits mirror each other around it
    assert np.sqrt(low * high) == pytest.approx(1.5, rel=1e-6)
    back = life_ratios(_two(nist_54, 1 / 1.5), ["g"])
    assert back["ratio_low"][1] == pytest.approx(1 / high, rel=1e-6)


def test_limits_of_a_ratio_lie_where_the_likelihood_has_fallen(nist_54):
    # divide b's ages by the limit: the shared fit then loses half the 95 % point of chi-square
    # (1 degree of freedom, 3.841459) against the fit in which the ratio is free
    lives = _two(nist_54)
    best = common_shape(_grouped(lives))[1]
    failures = lives.filter((pl.col("g") == "b") & pl.col("high").is_not_null())["count"].sum()
    out = life_ratios(lives, ["g"])
    for limit in (out["ratio_low"][1], out["ratio_high"][1]):
        factor = pl.when(pl.col("g") == "b").then(pl.lit(limit)).otherwise(1.0)
        one = fit_weibull(lives.with_columns(pl.col("low", "high") / factor))
        fallen = best - (one["log_likelihood"].item() - failures * np.log(limit))
        assert fallen == pytest.approx(0.5 * 3.841458820694124, abs=1e-6)


def _grouped(lives):
    codes = lives["g"].rank("dense").cast(pl.Int64).to_numpy() - 1
    return rows_of(ages_of(lives), lives["count"].to_numpy(), codes, int(codes.max()) + 1)


def test_large_tables_get_curvature_limits_that_agree(monkeypatch):
    rng = np.random.default_rng(6)
    age, end = 10.0 * rng.weibull(2.5, 3000), rng.uniform(4.0, 12.0, 3000)
    lives = _exact(age, end, ["x", "y", "z"] * 1000)
    profile = life_ratios(lives, ["g"])
    monkeypatch.setattr("fleet.fits.groups.life_ratios._PROFILED", 0)
    curvature = life_ratios(lives, ["g"])
    assert curvature["ratio"].to_list() == pytest.approx(profile["ratio"].to_list(), rel=1e-6)
    for side in ("ratio_low", "ratio_high"):
        assert curvature[side][1:].to_list() == pytest.approx(profile[side][1:].to_list(), rel=5e-3)


def _exact(age, end, names):
    return pl.DataFrame(
        {
            "entry": 0.0,
            "low": np.minimum(age, end),
            "high": np.where(age <= end, age, np.nan),
            "known_by": pl.Series([None] * len(age), dtype=pl.Float64),
            "count": 1.0,
            "g": names,
        }
    ).with_columns(pl.col("high").fill_nan(None))


def test_a_group_without_failure_lasts_at_least_so_long(nist_54, make_lives):
    good = make_lives([(0.0, 800.0, None, None, 12.0)]).with_columns(g=pl.lit("good"))
    lives = pl.concat([nist_54.with_columns(g=pl.lit("a")), good])
    out = life_ratios(lives, ["g"]).row(1, named=True)
    assert (out["ratio"], out["ratio_high"]) == (None, None)
    assert 1.0 < out["ratio_low"] < 10.0
    row = _row(lives, "likelihood-ratio")
    # its supremum is 0, reached at an endless life
    apart = fit_weibull(nist_54)["log_likelihood"].item()
    whole = fit_weibull(lives)["log_likelihood"].item()
    assert row["statistic"] == pytest.approx(2 * (apart - whole))
    assert "no failure" in row["note"]


def test_few_failures_get_a_permutation_p_that_is_the_same_every_time(make_lives):
    rows = [(0.0, a, a) for a in (1.0, 1.5, 2.0, 2.2)] + [(0.0, 3.0, None)] * 4
    rows += [(0.0, a, a) for a in (6.0, 7.0, 9.0)] + [(0.0, 10.0, None)] * 5
    lives = make_lives(rows).with_columns(g=pl.Series(["a"] * 8 + ["b"] * 8))
    first = _row(lives, "likelihood-ratio")
    assert first["p_permuted"] == _row(lives, "likelihood-ratio")["p_permuted"]
    assert first["p_permuted"] < 0.05
    # counts are lives: two rows of one or one row of two
    halves = lives.group_by("g", "low", "high", "entry", "known_by").agg(pl.col("count").sum())
    joined = _row(halves.select(lives.columns).sort("g", "low"), "likelihood-ratio")
    assert joined["p_permuted"] == pytest.approx(first["p_permuted"], abs=0.02)


def test_permutation_p_against_fits_one_by_one(make_lives):
    ages = (2.0, 3.0, 3.5, 4.0, 6.0, 7.0)
    rows = [(0.0, a, a) for a in ages] + [(0.0, 8.0, None)] * 6
    names = np.array(list("aababbaabbab"))
    lives = make_lives(rows).with_columns(g=pl.Series(names))
    row, rng = _row(lives, "likelihood-ratio"), np.random.default_rng(5)
    whole, far = fit_weibull(lives)["log_likelihood"].item(), 0
    for _ in range(300):
        dealt = lives.with_columns(g=pl.Series(rng.permutation(names)))
        fits = fit_weibull(dealt, by=["g"])
        # a group of failures alone at one age cannot come up here; one without failures gives 0
        parts = fits["log_likelihood"].fill_null(0.0).sum()
        bare = fits.filter(~pl.col("exists") & (pl.col("failures") > 0)).height
        far += bare > 0 or 2 * (parts - whole) >= row["statistic"] - 1e-9
    assert row["p_permuted"] == pytest.approx(far / 300, abs=0.12)


def test_failures_all_at_one_age_leave_the_likelihood_without_bound(nist_54, make_lives):
    lone = make_lives([(0.0, 90.0, 90.0, None, 2.0)]).with_columns(g=pl.lit("lone"))
    lives = pl.concat([nist_54.with_columns(g=pl.lit("a")), lone])
    rows = {r["test"]: r for r in compare(lives, ["g"]).iter_rows(named=True)}
    assert rows["likelihood-ratio"]["statistic"] is None
    assert "no bound" in rows["likelihood-ratio"]["note"]
    assert rows["equal-scale"]["statistic"] > 0.0
    only = lone.with_columns(pl.Series("g", ["x"]))
    assert compare(pl.concat([lone, only]), ["g"])["statistic"].drop_nulls().len() <= 1


def test_published_likelihood_ratios(reference):
    """2 (sum of group log-likelihoods - pooled), kept with the published data sets."""
    done = 0
    for name, entry in reference.expected.items():
        for columns, tests in (entry.get("tests") or {}).items():
            want = tests["lrt_equal_beta_eta"]
            if want["stat"] is None:
                continue
            row = compare(reference.lives(name)[0], columns.split(":")).row(1, named=True)
            assert row["statistic"] == pytest.approx(want["stat"], rel=1e-6), (name, columns)
            assert row["degrees_of_freedom"] == want["df"]
            assert row["p_value"] == pytest.approx(want["p"], rel=1e-5)
            done += 1
    assert done >= 6


def test_nothing_to_compare(make_lives):
    lives = make_lives([(0.0, 1.0, 2.0), (0.0, 3.0, None)]).with_columns(g=pl.Series(["a", "a"]))
    out = compare(lives, ["g"])
    assert out["statistic"].null_count() == out.height
    assert "one group" in out["note"][0]
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


@pytest.mark.slow
def test_log_rank_of_small_groups_goes_by_regrouping():
    # all groups alike: at 0.05 about one table in twenty may say they differ, and not six of thirty
    differ = rough = 0
    for seed in range(30):
        rng = np.random.default_rng(seed)
        life = 9.0 * rng.weibull(2.0, 30)
        lives = pl.DataFrame(
            {
                "entry": np.zeros(30),
                "low": np.minimum(life, 9.0),
                "high": np.where(life < 9.0, life, np.nan),
                "known_by": np.full(30, np.nan),
                "count": np.ones(30),
                "g": np.repeat(np.arange(10), 3).astype(str),
            }
        ).with_columns(pl.col("high", "known_by").fill_nan(None))
        row = compare(lives, ["g"]).filter(test="log-rank").row(0, named=True)
        differ += row["p_permuted"] < 0.05
        rough += row["p_value"] < 0.05
    assert differ < 6
    assert rough > differ
