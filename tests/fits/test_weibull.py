"""Weibull fits: by hand, published, against other programs, and what no fit may break."""

import math

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import BadFrame, BadInput
from fleet.fits import fit_weibull, row_log_likelihood
from fleet.frames import FIT, LIFE

AGES = ("scale", "scale_low", "scale_high", "b10", "b10_low", "b10_high")
SHAPES = ("shape", "shape_low", "shape_high")


def fit(lives, **options):
    return fit_weibull(lives, **options).row(0, named=True)


def same(a, b, rel=1e-7):
    return (a is None and b is None) or a == pytest.approx(b, rel=rel)


def test_columns_and_group_order(make_lives):
    lives = make_lives([(0.0, 3.0, 3.0), (0.0, 5.0, 5.0)]).with_columns(
        model=pl.Series(["b", "b"]), batch=pl.Series([None, "x"], dtype=pl.String)
    )
    out = fit_weibull(lives, by=["model", "batch"])
    assert out.columns == ["model", "batch", *FIT.names()]
    assert out.drop("model", "batch").schema == FIT
    assert out["batch"].to_list() == [None, "x"]


def test_two_failures_by_hand(make_lives):
    # With ages e^-1 and e^1 the score gives shape * tanh(shape) = 1 and
    # scale ** shape = cosh(shape).
    row = fit(make_lives([(0.0, math.exp(-1.0), math.exp(-1.0)), (0.0, math.e, math.e)]))
    shape = row["shape"]
    assert shape * math.tanh(shape) == pytest.approx(1.0, rel=1e-12)
    assert row["scale"] ** shape == pytest.approx(math.cosh(shape), rel=1e-12)
    assert row["b10"] == pytest.approx(row["scale"] * (-math.log(0.9)) ** (1 / shape))


def test_intervals_worked_elsewhere(make_lives):
    # value given with the design of this project: three failures between decades
    row = fit(make_lives([(0.0, 1.0, 10.0), (0.0, 10.0, 100.0), (0.0, 100.0, 1000.0)]))
    assert row["scale"] == pytest.approx(73.3931, abs=5e-5)
    assert row["shape"] == pytest.approx(0.653056, abs=5e-7)
    assert row["log_likelihood"] == pytest.approx(-3.715218, abs=5e-7)


def test_nist_8413(nist_54):
    # NIST/SEMATECH e-Handbook 8.4.1.3: its listing has 55 as the first time and prints scale
    # 606.005, shape 1.72563, log-likelihood -75.122; its text has 54 and 606.528, 1.7208, -75.135
    row = fit(nist_54)
    assert row["scale"] == pytest.approx(606.5276, abs=5e-5)
    assert row["shape"] == pytest.approx(1.720797, abs=5e-7)
    assert row["log_likelihood"] == pytest.approx(-75.13462, abs=5e-6)
    later = nist_54.with_columns(pl.col("low", "high").replace({54.0: 55.0}))
    row = fit(later)
    assert row["scale"] == pytest.approx(606.005, abs=5e-4)
    assert row["shape"] == pytest.approx(1.72563, abs=5e-6)
    assert row["log_likelihood"] == pytest.approx(-75.122, abs=5e-4)


def test_nist_ages_seen_only_at_readouts(make_lives):
    # the NIST 8.2.2.1 times binned; values computed for this project, not printed by NIST
    bins = [(0.0, 100.0, 1.0), (100.0, 200.0, 1.0), (200.0, 300.0, 3.0), (300.0, 400.0, 5.0)]
    rows = [(0.0, low, high, None, n) for low, high, n in bins]
    row = fit(make_lives([*rows, (0.0, 500.0, None, None, 10.0)]))
    assert row["shape"] == pytest.approx(1.67046, abs=5e-6)
    assert row["scale"] == pytest.approx(608.8663, abs=5e-5)
    assert row["log_likelihood"] == pytest.approx(-29.26653, abs=5e-6)


def test_failures_known_only_by_100_hours(make_lives):
    # Meeker (1987), Technometrics 29:51-65: circuits failed within 100 h. mu 4.03739, sigma
    # 2.11516 are shape 0.472776, scale 56.678.
    hours = "0.1 0.1 0.15 0.6 0.8 0.8 1.2 2.5 3 4 4 6 10 10 12.5 20 20 43 43 48 48 54 74 84 94"
    row = fit(make_lives([(0.0, float(h), float(h), 100.0) for h in hours.split()]))
    assert row["shape"] == pytest.approx(0.472776, abs=5e-7)
    assert row["scale"] == pytest.approx(56.6784, abs=5e-4)
    assert row["log_likelihood"] == pytest.approx(-95.15184, abs=5e-6)


def test_a_limit_is_where_the_likelihood_has_fallen(nist_54):
    # by the definition, with scipy's search over the other parameter
    from scipy.optimize import minimize_scalar

    row = fit(nist_54)
    want = row["log_likelihood"] - 0.5 * 3.841458820694124

    def at(shape, scale):
        return -row_log_likelihood(nist_54, shape, scale).sum()

    for side in ("shape_low", "shape_high"):
        best = minimize_scalar(lambda s, b=row[side]: at(b, math.exp(s)), bounds=(5.0, 9.0))
        assert -best.fun == pytest.approx(want, abs=1e-7)
    for side in ("scale_low", "scale_high"):
        best = minimize_scalar(lambda b, s=row[side]: at(b, s), bounds=(0.3, 6.0))
        assert -best.fun == pytest.approx(want, abs=1e-7)
    for side in ("b10_low", "b10_high"):
        best = minimize_scalar(
            lambda b, a=row[side]: at(b, a / (-math.log(0.9)) ** (1.0 / b)), bounds=(0.3, 6.0)
        )
        assert -best.fun == pytest.approx(want, abs=1e-7)


@pytest.fixture(scope="module")
def late(make_lives):
    rng = np.random.default_rng(11)
    rows = []
    while len(rows) < 80:
        age, entry, end = 10.0 * rng.weibull(2.5), 6.0 * rng.random(), 4.0 + 10.0 * rng.random()
        if min(age, end) > entry:
            rows.append((entry, min(age, end), age if age <= end else None))
    return make_lives(rows)


@pytest.mark.filterwarnings("ignore")  # of lifelines and pandas, not ours
def test_delayed_entry_against_lifelines(late):
    from lifelines import WeibullFitter

    other = WeibullFitter().fit(
        late["low"].to_numpy(),
        late["high"].is_not_null().to_numpy(),
        entry=late["entry"].to_numpy(),
    )
    row = fit(late)
    assert row["scale"] == pytest.approx(other.lambda_, rel=1e-5)
    assert row["shape"] == pytest.approx(other.rho_, rel=1e-5)
    assert row["log_likelihood"] == pytest.approx(other.log_likelihood_, abs=1e-6)


@pytest.mark.filterwarnings("ignore")
def test_intervals_against_lifelines(make_lives):
    from lifelines import WeibullFitter

    rng = np.random.default_rng(5)
    low = np.floor(4.0 * rng.weibull(2.0, 60)) + 1.0
    other = WeibullFitter().fit_interval_censoring(low, low + 1.0)
    row = fit(make_lives([(0.0, a, a + 1.0) for a in low]))
    assert row["scale"] == pytest.approx(other.lambda_, rel=1e-4)
    assert row["shape"] == pytest.approx(other.rho_, rel=1e-4)


ages = st.integers(1, 40).map(float)


@st.composite
def tables(draw):
    """Life tables of all kinds of row, small whole ages."""
    rows = []
    for _ in range(draw(st.integers(2, 12))):
        entry = float(draw(st.sampled_from([0, 0, 1, 5])))
        low = entry + draw(ages)
        kind = draw(st.sampled_from(["exact", "censored", "interval", "first", "known"]))
        high, known = low, None
        if kind == "censored":
            high = None
        elif kind == "interval":
            high = low + draw(ages)
        elif kind == "first":
            low = entry
        elif kind == "known":
            known = high + draw(ages)
        rows.append((entry, low, high, known, float(draw(st.integers(1, 3)))))
    return pl.DataFrame(rows, schema=LIFE, orient="row")


@given(tables(), st.randoms(use_true_random=False))
def test_row_order_and_aggregation_do_not_matter(lives, random):
    index = [i for i, n in enumerate(lives["count"]) for _ in range(int(n))]
    random.shuffle(index)
    one, other = fit(lives), fit(lives[index].with_columns(count=pl.lit(1.0)))
    assert one["exists"] == other["exists"]
    assert one["reason"] == other["reason"]
    for name in ("lives", "failures", "log_likelihood", *SHAPES, *AGES):
        assert same(one[name], other[name]), name


@given(tables(), st.sampled_from([24.0, 1.0 / 365.25]))
def test_units_do_not_matter(lives, factor):
    scaled = lives.with_columns(pl.col("entry", "low", "high", "known_by") * factor)
    one, other = fit(lives), fit(scaled)
    assert one["exists"] == other["exists"]
    for name in SHAPES:
        assert same(one[name], other[name]), name
    for name in AGES:
        assert same(one[name] and one[name] * factor, other[name]), name


@given(tables())
def test_nothing_near_an_estimate_is_likelier(lives):
    row = fit(lives)
    if not row["exists"]:
        assert row["reason"]
        assert (row["shape"], row["scale"], row["b10"]) == (None, None, None)
        return
    at = row_log_likelihood(lives, row["shape"], row["scale"]).sum()
    assert at == pytest.approx(row["log_likelihood"], abs=1e-7)
    for b in (0.5, 0.999, 1.001, 2.0):
        for s in (0.5, 0.999, 1.0, 1.001, 2.0):
            other = row_log_likelihood(lives, b * row["shape"], s * row["scale"]).sum()
            assert not other > at + 1e-7


@given(tables())
def test_groups_do_not_touch_one_another(lives):
    twice = pl.concat(
        [lives.with_columns(g=pl.lit("a")), lives.head(2).with_columns(g=pl.lit("b"))]
    )
    out = fit_weibull(twice, by=["g"])
    for row, own in zip(out.iter_rows(named=True), (lives, lives.head(2)), strict=True):
        alone = fit(own)
        for name in ("exists", "reason", *SHAPES, *AGES):
            assert row[name] == alone[name] or same(row[name], alone[name]), name


def test_truncation_that_excludes_nothing_changes_nothing(late):
    # known_by so late that every life has ended by then
    far = late.with_columns(known_by=pl.when(pl.col("high").is_not_null()).then(1e6))
    one, other = fit(late), fit(far)
    for name in ("log_likelihood", *SHAPES, *AGES):
        assert same(one[name], other[name], rel=1e-9), name


def test_faulty_rows_are_named(make_lives):
    good = (0.0, 1.0, 1.0)
    for row, words in (
        ((2.0, 2.0, 2.0), "row 2 .* very age"),
        ((3.0, 2.0, None), "row 2 .* before it came under observation"),
        ((0.0, 2.0, 1.0), "row 2 .* high < low"),
        ((-1.0, 2.0, 2.0), "row 2 .* negative"),
        ((0.0, 2.0, None, 5.0), "row 2 .* only because it failed"),
        ((0.0, 2.0, 2.0, 1.5), "row 2 .* must have failed"),
        ((0.0, 2.0, 2.0, None, 0.0), "row 2 .* count"),
        ((0.0, None, None), "row 2 .* lacks"),
    ):
        with pytest.raises(BadFrame, match=words):
            fit_weibull(make_lives([good, row]))
    with pytest.raises(BadFrame, match="no column model"):
        fit_weibull(make_lives([good]), by=["model"])
    with pytest.raises(BadInput, match="level"):
        fit_weibull(make_lives([good]), level=95.0)


def test_the_callers_frame_is_unchanged(nist_54):
    before = nist_54.clone()
    fit_weibull(nist_54)
    assert nist_54.equals(before)
