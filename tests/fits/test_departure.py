"""Departures from the Weibull: by hand, invariants, calibration and power by simulation."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.errors import BadInput
from fleet.fits.departure import DEPARTURE, Fitted, departure, excess_failures, fit_draws
from fleet.fits.rows import cut_rows
from fleet.frames import LIFE

NONE = float("nan")


def table(entry, low, high, known=None, count=None):
    size = len(entry)
    columns = (entry, low, high, np.full(size, NONE) if known is None else known)
    count = np.ones(size) if count is None else count
    series = [pl.Series(np.asarray(c, dtype=float)).fill_nan(None) for c in (*columns, count)]
    return pl.DataFrame(dict(zip(LIFE.names(), series, strict=True)), schema=LIFE)


def ages(rng, size, kind, entry=0.0):
    """Lives that outlast `entry`: a Weibull of shape 2.5, or a quarter of them failing early."""
    if kind == "weibull":
        return 10.0 * ((entry / 10.0) ** 2.5 + rng.exponential(size=size)) ** 0.4
    early = rng.random(size) < 0.25
    return np.where(early, 2.0 * rng.weibull(1.5, size), 11.0 * rng.weibull(5.0, size))


def right_censored(rng, size, kind="weibull"):
    age, end = ages(rng, size, kind), rng.uniform(3.0, 15.0, size)
    return table(np.zeros(size), np.minimum(age, end), np.where(age <= end, age, NONE))


def late_entry(rng, size, kind="weibull"):
    entry = rng.uniform(0.0, 9.0, size)
    age, end = ages(rng, size, kind, entry), entry + rng.uniform(1.0, 7.0, size)
    return table(entry, np.minimum(age, end), np.where(age <= end, age, NONE))


def one_look(rng, size, kind="weibull"):
    age, look = ages(rng, size, kind), rng.uniform(1.0, 18.0, size)
    failed = age <= look
    return table(np.zeros(size), np.where(failed, 0.0, look), np.where(failed, look, NONE))


def readouts(rng, size, kind="weibull"):
    age, looks = ages(rng, size, kind), np.array([0.0, 2, 4, 6, 8, 10, 12])
    at = np.searchsorted(looks, age)
    high = np.append(looks, NONE)[at]
    return table(np.zeros(size), looks[np.minimum(at - 1, 6)], high)


def own_looks(rng, size, kind="weibull"):
    age, end, step = ages(rng, size, kind), rng.uniform(5, 15, size), rng.uniform(0.4, 2, size)
    low = np.floor(age / step) * step
    failed = low + step <= end
    last = np.maximum(np.floor(end / step) * step, step)
    return table(np.zeros(size), np.where(failed, low, last), np.where(failed, low + step, NONE))


def known_only(rng, size, kind="weibull"):
    age, end = ages(rng, 4 * size, kind), rng.uniform(4.0, 14.0, 4 * size)
    seen = np.flatnonzero(age <= end)[:size]
    part = table(np.zeros(len(seen)), age[seen], age[seen], end[seen])
    return pl.concat([part, right_censored(rng, size, kind)])


KINDS = {
    "right": right_censored,
    "late": late_entry,
    "look": one_look,
    "readouts": readouts,
    "own": own_looks,
    "known": known_only,
}


def test_columns(make_lives, nist_54):
    lives = nist_54.with_columns(batch=pl.lit("a"))
    out = departure(lives, by=["batch"], draws=99)
    assert out.columns == ["batch", *DEPARTURE.names()]
    assert out.drop("batch").schema == DEPARTURE


def test_excess_by_hand(make_lives):
    # H(t) = t: by age 1 a failure at 0.5 is 1 - 0.5 over what was expected; a life watched from
    # 0.25 to 3 lacks 0.75; a failure somewhere in (0, 2] adds its share 1 / (e^2 - 1)
    fit = Fitted(shape=np.ones(1), log_scale=np.zeros(1), exists=np.ones(1, dtype=bool))
    lives = make_lives([(0.0, 0.5, 0.5), (0.25, 3.0, None), (0.0, 0.0, 2.0)])
    excess, size = excess_failures(cut_rows(lives, ()), fit, np.array([1.0]))
    part = 1.0 / np.expm1(2.0)
    assert excess[0, 0] == pytest.approx(0.5 - 0.75 + part)
    assert size[0] == pytest.approx(np.sqrt(0.5**2 + 0.75**2 + part**2))


def test_failure_known_only_because_it_happened_by_hand(make_lives):
    # H(t) = t, failed at 1.5, known by 2: by age 1 it lacks 1, less the window's 1 / (e^2 - 1)
    fit = Fitted(shape=np.ones(1), log_scale=np.zeros(1), exists=np.ones(1, dtype=bool))
    rows = cut_rows(make_lives([(0.0, 1.5, 1.5, 2.0)]), ())
    excess, _ = excess_failures(rows, fit, np.array([1.0]))
    assert excess[0, 0] == pytest.approx(-1.0 - 1.0 / np.expm1(2.0))


@pytest.mark.parametrize("kind", KINDS)
def test_no_excess_in_all_at_the_fit(kind):
    # the slope of the likelihood in the scale is 0 there: failures seen are failures expected
    rows = cut_rows(KINDS[kind](np.random.default_rng(2), 60), ())
    excess, _ = excess_failures(rows, fit_draws(rows), np.array([1e6]))
    assert excess[0, 0] == pytest.approx(0.0, abs=1e-6)


def test_same_seed_same_answer_other_seed_close(nist_54):
    first, again, other = (departure(nist_54, draws=299, seed=s)["p_value"][0] for s in (1, 1, 2))
    assert first == again
    assert abs(first - other) < 0.15


@settings(max_examples=8)
@given(seed=st.integers(0, 10_000), kind=st.sampled_from(sorted(KINDS)))
def test_unit_order_and_splits_do_not_matter(seed, kind):
    lives = KINDS[kind](np.random.default_rng(seed), 30)
    before = departure(lives, draws=49).row(0, named=True)
    quarters = pl.concat([lives.with_columns(pl.col("count") * f) for f in (0.25, 0.75)])
    mixed = quarters.sample(fraction=1.0, shuffle=True, seed=seed)
    scaled = mixed.with_columns(pl.col("entry", "low", "high", "known_by") * 1024.0)
    after = departure(scaled, draws=49).row(0, named=True)
    if before["p_value"] is None:
        assert after["p_value"] is None
        return
    assert after["p_value"] == pytest.approx(before["p_value"], abs=1e-9)
    assert after["at_age"] == pytest.approx(1024.0 * before["at_age"], rel=1e-6)


def test_alone_or_among_others(nist_54):
    lives = pl.concat(
        [
            right_censored(np.random.default_rng(5), 40).with_columns(g=pl.lit("x")),
            nist_54.with_columns(g=pl.lit("y")),
        ]
    )
    out = departure(lives, by=["g"], draws=99)
    assert out.filter(g="y")["p_value"][0] == departure(nist_54, draws=99)["p_value"][0]


def test_too_few_failures_are_not_judged(make_lives):
    lives = make_lives([(0.0, float(a), float(a)) for a in (3, 5, 8, 9)])
    row = departure(lives).row(0, named=True)
    assert row["p_value"] is None
    assert "fewer than 5 failures" in row["reason"]


def test_no_fit_is_not_judged(make_lives):
    lives = make_lives([(0.0, 9.0, 9.0, None, 6.0), (0.0, 5.0, None, None, 4.0)])
    row = departure(lives).row(0, named=True)
    assert row["p_value"] is None
    assert "no Weibull fit" in row["reason"]


def test_too_few_draws_are_refused(nist_54):
    with pytest.raises(BadInput, match="5 draws say nothing"):
        departure(nist_54, draws=5)


def test_a_gross_mixture_is_seen(make_lives):
    lives = make_lives([(0.0, a, a) for i in range(15) for a in (1.0 + 0.01 * i, 20.0 + 0.1 * i)])
    row = departure(lives).row(0, named=True)
    assert row["p_value"] == pytest.approx(1 / (row["draws"] + 1))
    assert row["draws"] == 499


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_chances_are_even_when_lives_follow_a_weibull(kind):
    # 120 fleets: the number with p <= 0.1 is binomial, mean 12; beyond 3 to 24 lies less than
    # one chance in a thousand on either side. Likewise 60 with p <= 0.5 within 43 to 77.
    rng = np.random.default_rng(17)
    p = [departure(KINDS[kind](rng, 50), draws=99, seed=i)["p_value"][0] for i in range(120)]
    p = np.array([v for v in p if v is not None])
    assert len(p) >= 115
    assert 3 <= (p <= 0.1).sum() <= 24
    assert 43 <= (p <= 0.5).sum() <= 77


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["right", "look", "readouts", "own"])
def test_mixtures_are_found_out(kind):
    # a quarter fails early: of 40 fleets of 80 lives at least half are seen at 5 in 100
    rng = np.random.default_rng(23)
    p = [
        departure(KINDS[kind](rng, 80, "mixed"), draws=99, seed=i)["p_value"][0] for i in range(40)
    ]
    assert sum(v is not None and v <= 0.05 for v in p) >= 20
