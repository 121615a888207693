"""The log-rank test on sorted arrays, and what stands in for it."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.fits.compare import compare
from fleet.fits.groups.log_rank import forward_spells, rank_test
from fleet.fits.groups.score_test import score_test
from fleet.fits.rows import cut_rows


def _plain(spells, *, lost=1.0):
    """Score and variance age by age; `lost` is taken off the number at risk (Mantel: 1)."""
    score = np.zeros(spells.groups)
    variance = np.zeros((spells.groups, spells.groups))
    for t in range(spells.places):
        here = (spells.start <= t) & (t < spells.stop)
        n = np.bincount(spells.group[here], spells.count[here], spells.groups)
        now = spells.failed & (spells.place == t)
        d = np.bincount(spells.group[now], spells.count[now], spells.groups)
        share = n / n.sum()
        score += d - d.sum() * share
        if n.sum() > 1.0 + 1e-9:
            weight = d.sum() * (n.sum() - d.sum()) / (n.sum() - lost)
            variance += weight * (np.diag(share) - np.outer(share, share))
    return score, variance


def _chi_square(score, variance):
    return float(score @ np.linalg.pinv(variance, rcond=1e-9, hermitian=True) @ score)


def _random(seed, groups, lives, *, whole=True):
    rng = np.random.default_rng(seed)
    group = rng.integers(0, groups, lives)
    entry = np.where(rng.random(lives) < 0.4, rng.integers(0, 8, lives), 0).astype(float)
    low = entry + rng.integers(1, 30, lives)
    if not whole:
        low = low + rng.random(lives)
    high = np.where(rng.random(lives) < 0.6, low, np.nan)
    return group, entry, low, high, rng.integers(1, 4, lives).astype(float)


@pytest.mark.parametrize(
    ("groups", "lives", "whole"),
    [(2, 30, True), (5, 200, True), (60, 900, True), (90, 1500, False), (300, 3000, True)],
)
def test_agrees_with_the_sum_age_by_age(groups, lives, whole):
    # 60 groups and more take blocks of several jumps
    group, entry, low, high, count = _random(groups, groups, lives, whole=whole)
    spells = forward_spells(group, groups, entry, low, high, count)
    found, (score, variance) = rank_test(spells), _plain(spells)
    assert found.observed - found.expected == pytest.approx(score, abs=1e-9)
    assert found.statistic == pytest.approx(_chi_square(score, variance), rel=1e-8)
    assert found.freedom == int((np.diag(variance) > 1e-9).sum()) - 1


def test_long_keys_are_sorted_instead_of_counted(monkeypatch):
    group, entry, low, high, count = _random(3, 40, 800, whole=False)
    spells = forward_spells(group, 40, entry, low, high, count)
    counted = rank_test(spells).statistic
    monkeypatch.setattr("fleet.fits.groups.log_rank._KEYS", 0)
    monkeypatch.setattr("fleet.fits.groups.log_rank._CELLS", 400)
    assert rank_test(spells).statistic == pytest.approx(counted, rel=1e-12)


@given(st.integers(0, 10_000))
def test_order_of_rows_and_splitting_counts_change_nothing(seed):
    group, entry, low, high, count = _random(seed, 3, 25)
    whole = rank_test(forward_spells(group, 3, entry, low, high, count))
    rng = np.random.default_rng(seed)
    order = rng.permutation(np.repeat(np.arange(25), 2))
    parts = [v[order] for v in (entry, low, high, 0.5 * count)]
    again = rank_test(forward_spells(group[order], 3, *parts))
    assert again.freedom == whole.freedom
    if whole.statistic is not None:
        assert again.statistic == pytest.approx(whole.statistic, abs=1e-9)


def test_groups_never_at_risk_together_are_compared_within_their_sets(make_lives):
    early = [(0.0, 1.0, 1.0), (0.0, 3.0, None), (0.0, 2.0, 2.0), (0.0, 3.0, None)]
    late = [(10.0 + e, 10.0 + low, None if h is None else 10.0 + h) for e, low, h in early]
    lives = make_lives([*early, *late]).with_columns(g=pl.Series(list("aabbccdd")))
    row = compare(lives, ["g"]).row(0, named=True)
    # each half is the case worked by hand in test_compare: (1/6)^2 / (17/36)
    assert row["statistic"] == pytest.approx(2 * (1 / 36) / (17 / 36))
    assert row["degrees_of_freedom"] == 2
    assert "2 sets" in row["note"]


def test_a_group_without_anyone_at_risk_is_left_out_and_said(make_lives):
    rows = [(0.0, 2.0, 2.0), (0.0, 4.0, None), (0.0, 3.0, 3.0), (0.0, 4.0, None), (5.0, 6.0, None)]
    lives = make_lives(rows).with_columns(g=pl.Series(list("aabbc")))
    row = compare(lives, ["g"]).row(0, named=True)
    assert row["degrees_of_freedom"] == 1
    assert "left out" in row["note"]


def test_published_log_ranks(reference):
    """survival::survdiff 3.8, to 1e-8 relative, kept with the published data sets."""
    done = 0
    for name, entry in reference.expected.items():
        for columns, tests in (entry.get("tests") or {}).items():
            want = tests.get("logrank") or tests.get("logrank_reverse_time")
            lives, _ = reference.lives(name)
            row = compare(lives, columns.split(":")).row(0, named=True)
            assert row["statistic"] == pytest.approx(want["chi2"], rel=1e-8), (name, columns)
            assert row["degrees_of_freedom"] == want["df"]
            assert row["p_value"] == pytest.approx(want["p"], rel=1e-6)
            assert ("running backwards" in (row["note"] or "")) == ("logrank" not in tests)
            done += 1
    assert done == 7


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_score_test_on_exact_lives_is_the_log_rank(seed):
    # but for n in place of n - 1 in the variance
    group, entry, low, high, count = _random(seed, 3, 120)
    spells = forward_spells(group, 3, entry, low, high, count)
    score, variance = _plain(spells, lost=0.0)
    found = score_test(_rows(entry, low, high, count), group, 3)
    assert found.observed - found.expected == pytest.approx(score, abs=1e-8)
    assert found.statistic == pytest.approx(_chi_square(score, variance), rel=1e-6)


def test_score_test_of_inspections_at_common_ages_is_the_log_rank_of_those_ages():
    # all looked at once a year: (2, 3] tells what a failure at 3 among ties tells
    group, entry, low, high, count = _random(5, 2, 90)
    entry[:] = 0.0
    spells = forward_spells(group, 2, entry, low, high, count)
    score, variance = _plain(spells, lost=0.0)
    failed = ~np.isnan(high)
    found = score_test(_rows(entry, np.where(failed, low - 1.0, low), high, count), group, 2)
    assert found.statistic == pytest.approx(_chi_square(score, variance), rel=1e-6)


def test_windows_that_exclude_nothing_change_nothing():
    # every life fails, so none can outlast the windows
    group, entry, low, _, count = _random(8, 2, 80)
    high = low + 2.0
    plain = score_test(_rows(entry, low, high, count), group, 2).statistic
    known = np.where(np.arange(80) % 2, np.nan, 1e9)
    assert score_test(_rows(entry, low, high, count, known), group, 2).statistic == pytest.approx(
        plain, rel=1e-6
    )


def test_score_test_keeps_its_level_where_groups_are_inspected_differently():
    rng = np.random.default_rng(21)
    unlikely = 0
    for _ in range(120):
        group = rng.integers(0, 2, 80)
        width = np.where(group == 0, 1.0, 2.5)
        age, end = 10.0 * rng.weibull(2.0, 80), rng.uniform(5.0, 15.0, 80)
        low = np.floor(np.minimum(age, end) / width) * width
        high = np.where(age < end, low + width, np.nan)
        kept = (low > 0.0) | ~np.isnan(high)
        parts = [v[kept] for v in (np.zeros(80), low, high, np.ones(80))]
        unlikely += score_test(_rows(*parts), group[kept], 2).statistic > 3.841459
    assert 0 <= unlikely <= 14  # 6 expected; 14 or fewer in 999 of 1,000 binomial draws


def test_too_many_ages_fall_back_and_say_so(monkeypatch, make_lives):
    monkeypatch.setattr("fleet.fits.groups.score_test.LARGEST", 2)
    rows = [(0.0, a, a + 1.0) for a in (1.0, 2.5, 4.0, 5.5)] + [(0.0, 6.0, None)] * 2
    lives = make_lives(rows).with_columns(g=pl.Series(list("ababab")))
    row = compare(lives, ["g"]).row(0, named=True)
    assert "middle" in row["note"]
    known = lives.with_columns(
        known_by=pl.when(pl.col("high").is_not_null()).then(pl.lit(9.0)).otherwise(None)
    )
    row = compare(known, ["g"]).row(0, named=True)
    assert row["statistic"] is None
    assert "likelihood-ratio" in row["note"]


def test_many_groups_get_the_simpler_test_which_is_never_larger(monkeypatch):
    group, entry, low, high, count = _random(12, 6, 150)
    spells = forward_spells(group, 6, entry, low, high, count)
    full = rank_test(spells)
    monkeypatch.setattr("fleet.fits.groups.log_rank.MOST_GROUPS", 5)
    simple = rank_test(spells)
    want = ((full.observed - full.expected) ** 2 / full.expected).sum()
    assert simple.statistic == pytest.approx(want)
    assert simple.statistic <= full.statistic
    assert (simple.freedom, simple.rough) == (full.freedom, True)


def test_agrees_with_lifelines():
    """lifelines.statistics.multivariate_logrank_test, which takes no entries."""
    from lifelines.statistics import multivariate_logrank_test

    group, _, low, high, _ = _random(14, 4, 120)
    ones = np.ones(len(low))
    found = rank_test(forward_spells(group, 4, 0.0 * low, low, high, ones))
    theirs = multivariate_logrank_test(low, group, ~np.isnan(high))
    assert found.statistic == pytest.approx(theirs.test_statistic, rel=1e-9)
    assert found.freedom == theirs.degrees_of_freedom


def _rows(entry, low, high, count, known=None):
    known = np.full(len(low), np.nan) if known is None else known
    names = {"entry": entry, "low": low, "high": high, "known_by": known, "count": count}
    return cut_rows(pl.DataFrame(names).with_columns(pl.col("high", "known_by").fill_nan(None)), ())
