"""Other distributions: published values, other programs, and what no fit may break."""

import sys

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.fits import fit_weibull
from fleet.fits.alternatives import ALTERNATIVES, DISTRIBUTIONS, alternatives
from fleet.frames import LIFE

# NIST/SEMATECH e-Handbook 8.4.2: failures within 1000 h at 85, 105 and 125 degrees
CELLS = {
    85: ("401 428 695 725 738", 100),
    105: (
        "171 187 189 266 275 285 301 302 305 316 317 324 349 350 386 405 480 493 530 534 536 567 "
        "589 598 599 614 620 650 668 685 718 795 854 917 926",
        50,
    ),
    125: (
        "24 42 92 93 141 142 143 159 181 188 194 199 207 213 243 256 259 290 294 305 392 454 502 "
        "696",
        25,
    ),
}
# Meeker (1987), Technometrics 29:51-65: 28 of 4156 circuits failed within 1370 h
CIRCUITS = {0.1: 2, 0.15: 1, 0.6: 1, 0.8: 2, 1.2: 1, 2.5: 1, 3: 1, 4: 2, 6: 1, 10: 2, 12.5: 1}
CIRCUITS |= {20: 2, 43: 2, 48: 2, 54: 1, 74: 1, 84: 1, 94: 1, 168: 1, 263: 1, 593: 1}


def one(lives, name, **options):
    return alternatives(lives, **options).filter(distribution=name).row(0, named=True)


@pytest.fixture
def circuits(make_lives):
    def at(end):
        rows = [(0.0, float(h), float(h), None, float(n)) for h, n in CIRCUITS.items() if h <= end]
        return make_lives([*rows, (0.0, end, None, None, 4156 - sum(r[4] for r in rows))])

    return at


def test_columns_and_order(nist_54):
    lives = nist_54.with_columns(batch=pl.lit("b"))
    out = alternatives(pl.concat([lives, lives.with_columns(batch=pl.lit("a"))]), by=["batch"])
    assert out.columns == ["batch", *ALTERNATIVES.names()]
    assert out.drop("batch").schema == ALTERNATIVES
    assert out["distribution"].to_list() == [*DISTRIBUTIONS] * 2
    assert out["batch"].to_list() == ["b"] * 6 + ["a"] * 6


def test_nist_8413_aic(nist_54):
    # NIST/SEMATECH e-Handbook 8.4.1.3 prints AIC 154.24 for the Weibull, 154.33 for the lognormal
    later = nist_54.with_columns(pl.col("low", "high").replace({54.0: 55.0}))
    assert one(later, "weibull")["aic"] == pytest.approx(154.24, abs=5e-3)
    assert one(later, "lognormal")["aic"] == pytest.approx(154.33, abs=5e-3)
    assert one(later, "weibull")["log_likelihood"] == pytest.approx(-75.122, abs=5e-4)


@pytest.mark.parametrize(
    ("cell", "mu", "sigma", "log_likelihood"),
    [(85, 8.891, 1.21, -53.4), (105, 6.470, 0.715, -265.2), (125, 5.33, 0.81, -156.5)],
)
def test_nist_842_lognormal_cells(make_lives, cell, mu, sigma, log_likelihood):
    # NIST/SEMATECH e-Handbook 8.4.2.2, its listing; B10 is exp(mu - 1.2816 sigma)
    failures, units = CELLS[cell]
    rows = [(0.0, float(h), float(h)) for h in failures.split()]
    row = one(make_lives([*rows, (0.0, 1000.0, None, None, float(units - len(rows)))]), "lognormal")
    assert row["log_likelihood"] == pytest.approx(log_likelihood, abs=0.05)
    assert np.log(row["b10"]) == pytest.approx(mu - 1.2815516 * sigma, abs=0.01)


def test_exponential_is_failures_over_hours(nist_54):
    row = one(nist_54, "exponential")
    rate = 10 / nist_54.select((pl.col("low") * pl.col("count")).sum()).item()
    assert row["b10"] == pytest.approx(-np.log(0.9) / rate, rel=1e-8)
    assert row["log_likelihood"] == pytest.approx(10 * np.log(rate) - 10, rel=1e-12)


def test_circuits_of_which_few_can_fail(circuits):
    # values computed for this project from the published data; Meeker and Escobar (1998), 11.5,
    # give p 0.0067
    row = one(circuits(1370.0), "limited_failure")
    assert row["share_that_can_fail"] == pytest.approx(0.0067445, rel=1e-5)
    assert row["log_likelihood"] == pytest.approx(-293.03289, abs=1e-5)
    assert row["share_low"] == pytest.approx(0.00454966, rel=1e-5)
    assert row["share_high"] == pytest.approx(0.00954692, rel=1e-5)
    assert one(circuits(1370.0), "weibull")["log_likelihood"] == pytest.approx(-303.03163, abs=1e-5)
    # half the chi-square tail of 19.997
    assert row["p_value"] == pytest.approx(0.5 * 7.75e-6, rel=0.01)
    assert row["b10"] is None


def test_truncated_and_limited_fits_agree_at_a_common_age(circuits):
    # Cut off at 100 h, the lives that can fail have the Weibull of the failures known by 100 h
    censored = circuits(100.0)
    failed = censored.filter(pl.col("high").is_not_null())
    known = fit_weibull(failed.with_columns(known_by=pl.lit(100.0))).row(0, named=True)
    assert known["shape"] == pytest.approx(0.472776, abs=1e-6)
    assert known["scale"] == pytest.approx(56.6784, abs=1e-4)
    assert known["log_likelihood"] == pytest.approx(-95.15184, abs=1e-5)
    row = one(censored, "limited_failure")
    by_100 = 1 - np.exp(-((100.0 / known["scale"]) ** known["shape"]))
    assert row["share_that_can_fail"] == pytest.approx(25 / 4156 / by_100, rel=1e-6)
    assert row["log_likelihood"] == pytest.approx(-247.91231, abs=1e-5)


def test_share_is_not_claimed_where_all_fail(make_lives):
    ages = 10 * (-np.log(1 - (np.arange(1, 31) - 0.5) / 30)) ** 0.4
    row = one(make_lives([(0.0, a, a) for a in ages]), "limited_failure")
    assert row["exists"] is False
    assert row["share_that_can_fail"] is None
    assert "all can fail" in row["reason"]


def test_failures_known_only_because_they_happened_say_no_share(make_lives):
    lives = make_lives([(0.0, a, a, 9.0) for a in (1.0, 2.0, 3.0, 4.5, 6.0, 8.0)])
    row = one(lives, "limited_failure")
    assert row["exists"] is False
    assert "do not say what share" in row["reason"]


@pytest.mark.parametrize("name", DISTRIBUTIONS)
def test_no_failure_no_fit(make_lives, name):
    row = one(make_lives([(0.0, 5.0, None, None, 20.0)]), name)
    assert row["exists"] is False
    assert row["reason"]
    assert row["log_likelihood"] is None
    assert row["b10"] is None


def test_failures_all_at_the_last_age_have_no_lognormal(make_lives):
    lives = make_lives([(0.0, 3.0, None, None, 4.0), (0.0, 5.0, 5.0, None, 3.0)])
    assert one(lives, "weibull")["exists"] is False
    assert one(lives, "lognormal")["exists"] is False
    assert one(lives, "exponential")["exists"] is True


def test_lifelines_lognormal_with_late_entry():
    # lifelines: LogNormalFitter takes entry ages
    from lifelines import LogNormalFitter

    rng = np.random.default_rng(3)
    entry = rng.uniform(0.0, 4.0, 60)
    age = np.exp(2.0 + 0.5 * rng.normal(size=400))
    age = age[age > 4.0][:60]
    end = entry + rng.uniform(1.0, 9.0, 60)
    keep = end > 0
    failed = (age <= end)[keep]
    seen = np.minimum(age, end)
    lives = pl.DataFrame(
        {
            "entry": entry,
            "low": seen,
            "high": pl.Series(np.where(failed, seen, np.nan)).fill_nan(None),
            "known_by": pl.Series([None] * 60, dtype=pl.Float64),
            "count": np.ones(60),
        },
        schema=LIFE,
    )
    other = LogNormalFitter().fit(seen, failed, entry=entry)
    row = one(lives, "lognormal")
    assert row["log_likelihood"] == pytest.approx(other.log_likelihood_, abs=1e-4)
    assert row["b10"] == pytest.approx(other.percentile(0.9), rel=1e-3)


def test_lifelines_lognormal_with_intervals(reference):
    # lifelines: fit_interval_censoring on the published turbine wheels
    from lifelines import LogNormalFitter

    lives, _ = reference.lives("turbine")
    high = lives["high"].fill_null(np.inf).to_numpy()
    other = LogNormalFitter().fit_interval_censoring(
        lives["low"].to_numpy(), high, weights=lives["count"].to_numpy()
    )
    row = one(lives, "lognormal")
    assert row["log_likelihood"] == pytest.approx(other.log_likelihood_, abs=1e-4)
    assert row["b10"] == pytest.approx(other.percentile(0.9), rel=1e-3)


def test_two_causes_are_found(make_lives):
    # one cause takes a fifth early at a falling rate, wear takes the rest around age 10
    rng = np.random.default_rng(8)
    age = np.minimum(40.0 * rng.weibull(0.6, 300), 10.0 * rng.weibull(8.0, 300))
    out = alternatives(make_lives([(0.0, a, a) for a in age]))
    weibull, causes = (
        out.filter(distribution=n).row(0, named=True) for n in ("weibull", "two_causes")
    )
    assert causes["exists"] is True
    assert causes["aic_few"] < weibull["aic_few"] - 20


VALUES = ("log_likelihood", "b10", "share_that_can_fail", "share_low", "share_high", "p_value")


def agree(a, b, *, ages=1.0, exact=0.0):
    """Two tables of fits, the second with ages `ages` times as long."""
    assert a["distribution"].to_list() == b["distribution"].to_list()
    assert a["exists"].to_list() == b["exists"].to_list()
    for one_row, other in zip(a.iter_rows(named=True), b.iter_rows(named=True), strict=True):
        for name in VALUES:
            before, after = one_row[name], other[name]
            if before is None or after is None:
                assert before == after
                continue
            before = before - exact * np.log(ages) if name == "log_likelihood" else before
            before = before * ages if name == "b10" else before
            assert after == pytest.approx(before, rel=2e-5, abs=1e-6)


@pytest.mark.parametrize("ages", [1e-4, 365.25, 8766.0])
def test_unit_of_age_does_not_matter(nist_54, ages):
    scaled = nist_54.with_columns(pl.col("low", "high") * ages)
    agree(
        alternatives(nist_54, mixtures=False),
        alternatives(scaled, mixtures=False),
        ages=ages,
        exact=10.0,
    )


@settings(max_examples=8)
@given(seed=st.integers(0, 10_000))
def test_order_and_splits_and_neighbours_do_not_matter(seed):
    rng = np.random.default_rng(seed)
    age, end = 10 * rng.weibull(2.0, 25), rng.uniform(4.0, 14.0, 25)
    lives = pl.DataFrame(
        {
            "entry": np.zeros(25),
            "low": np.minimum(age, end),
            "high": pl.Series(np.where(age <= end, age, np.nan)).fill_nan(None),
            "known_by": pl.Series([None] * 25, dtype=pl.Float64),
            "count": np.ones(25),
        },
        schema=LIFE,
    )
    halves = pl.concat([lives.with_columns(pl.col("count") * f) for f in (0.25, 0.75)])
    other = lives.with_columns(pl.col("low", "high") * 3.0)
    both = pl.concat(
        [
            halves.sample(fraction=1.0, shuffle=True, seed=seed).with_columns(g=pl.lit("a")),
            other.with_columns(g=pl.lit("b")),
        ]
    )
    alone = alternatives(lives, mixtures=False)
    agree(alone, alternatives(both, by=["g"], mixtures=False).filter(g="a").drop("g"))


def test_many_rows_are_first_searched_in_part():
    # 5,000 rows take the short way, the same lives as 500 of them counted tenfold do not
    rng = np.random.default_rng(4)
    age = np.where(rng.random(500) < 0.3, 4.0 * rng.weibull(2.0, 500), 99.0)
    rows = [(0.0, a, a, None, 10.0) if a < 9.0 else (0.0, 9.0, None, None, 10.0) for a in age]
    counted = pl.DataFrame(rows, schema=LIFE, orient="row")
    each = pl.concat([counted.with_columns(count=pl.lit(1.0))] * 10)
    agree(alternatives(counted), alternatives(each))


def test_groups_in_several_blocks(nist_54, monkeypatch):
    monkeypatch.setattr(sys.modules["fleet.fits.alternatives"], "_BLOCK", 25)
    many = pl.concat(
        [nist_54.with_columns(pl.col("low", "high") * (1 + i), g=pl.lit(i)) for i in range(5)]
    )
    out = alternatives(many, by=["g"], mixtures=False)
    assert out["g"].to_list() == [i for i in range(5) for _ in range(4)]
    b10 = out.filter(distribution="lognormal")["b10"]
    assert (b10 / b10[0]).to_list() == pytest.approx([1, 2, 3, 4, 5], rel=1e-7)


def test_no_lives_no_groups(nist_54):
    empty = nist_54.with_columns(g=pl.lit("a")).clear()
    out = alternatives(empty, by=["g"])
    assert out.is_empty()
    assert out.columns == ["g", *ALTERNATIVES.names()]
