"""Lives drawn anew under the watch that was kept."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.fits.families.scheme import find_scheme
from fleet.fits.families.simulate import draw_lives
from fleet.fits.rows import check_lives, cut_rows
from fleet.frames import LIFE


def scheme_of(lives):
    return find_scheme(cut_rows(lives, ()))


def drawn(lives, *, shape=2.0, scale=10.0, draws=50, seed=1):
    """Drawn lives as a table in the lives' own unit, with their draw."""
    scheme = scheme_of(lives)
    rng = np.random.default_rng(seed)
    rows, _ = draw_lives(scheme, shape, np.log(scale / scheme.unit), draws, rng)
    ages = {
        name: pl.Series(getattr(rows, name) * scheme.unit).fill_nan(None)
        for name in ("entry", "low", "high", "known_by")
    }
    return pl.DataFrame(
        {**ages, "count": rows.count, "draw": np.repeat(np.arange(draws), np.diff(rows.starts))}
    )


def test_watching_times_by_hand(make_lives):
    # watched 2 (good), 3 (failed), 4 (good), 5 (good): 1/4 have left by 2; of the two left at 4
    # one leaves, 1 - 3/4 * 1/2; then all
    lives = make_lives([(0.0, 2.0, None), (1.0, 4.0, 4.0), (2.0, 6.0, None), (0.0, 5.0, None)])
    scheme = scheme_of(lives)
    assert scheme.left * scheme.unit == pytest.approx([2.0, 4.0, 5.0])
    assert scheme.left_by == pytest.approx([0.25, 0.625, 1.0])


def test_lives_still_good_keep_their_watch(make_lives):
    lives = make_lives([(3.0, 8.0, None, None, 40.0), (0.0, 5.0, 5.0)])
    out = drawn(lives).filter(pl.col("entry") == 3.0)
    assert out.group_by("draw").agg(pl.col("count").sum())["count"].to_list() == [40.0] * 50
    assert out.filter(pl.col("high").is_null())["low"].unique().to_list() == [8.0]
    assert out.filter(pl.col("high").is_not_null())["low"].is_between(3.0, 8.0).all()


def test_share_that_fails_is_the_weibulls(make_lives):
    # P(T <= 8 | T > 3) of shape 2, scale 10: 1 - exp(0.09 - 0.64)
    out = drawn(make_lives([(3.0, 8.0, None, None, 400.0), (0.0, 5.0, 5.0)]), draws=200)
    out = out.filter(pl.col("entry") == 3.0)
    share = out.filter(pl.col("high").is_not_null())["count"].sum() / 80_000
    chance = 1 - np.exp(0.09 - 0.64)
    assert share == pytest.approx(chance, abs=5 * np.sqrt(chance * (1 - chance) / 80_000))


def test_complete_lives_stay_complete(make_lives):
    out = drawn(make_lives([(0.0, float(a), float(a)) for a in (3, 5, 8, 9)]))
    assert out.height == 200
    assert out["high"].null_count() == 0


def test_failures_known_only_because_they_happened_stay_in_their_window(make_lives):
    out = drawn(make_lives([(1.0, 5.0, 5.0, 9.0, 7.0), (0.0, 2.0, 4.0, 6.0, 3.0)]))
    assert out.height == 500
    assert out["known_by"].is_not_null().all()
    assert (out["high"] <= out["known_by"]).all()
    assert (out["low"] >= out["entry"]).all()
    assert (
        out.filter(pl.col("known_by") == 9.0)["low"]
        == out.filter(pl.col("known_by") == 9.0)["high"]
    ).all()


def test_one_look_each(make_lives):
    rows = [(0.0, 0.0, 4.0), (0.0, 7.0, None), (0.0, 0.0, 9.0), (0.0, 2.0, None)]
    lives = make_lives(rows)
    assert scheme_of(lives).looks == "one"
    out = drawn(lives)
    failed, good = out.filter(pl.col("high").is_not_null()), out.filter(pl.col("high").is_null())
    assert failed["low"].unique().to_list() == [0.0]
    assert set(failed["high"].round(9)) <= {2.0, 4.0, 7.0, 9.0}
    assert set(good["low"].round(9)) <= {2.0, 4.0, 7.0, 9.0}


def test_shared_looks(make_lives):
    bins = [(0.0, 100.0), (100.0, 200.0), (200.0, 300.0), (300.0, 400.0)]
    lives = make_lives([*((0.0, a, b, None, 3.0) for a, b in bins), (0.0, 500.0, None, None, 10.0)])
    assert scheme_of(lives).looks == "shared"
    out = drawn(lives, scale=400.0)
    failed = out.filter(pl.col("high").is_not_null())
    steps = {(100.0 * i, 100.0 * (i + 1)) for i in range(5)}
    pairs = zip(failed["low"].round(6), failed["high"].round(6), strict=True)
    assert set(pairs) <= steps


def test_looks_of_their_own_keep_their_step(make_lives):
    rows = [(0.0, 1.1, 2.2), (0.0, 3.0, 4.5), (0.0, 2.0, 2.9), (0.0, 9.0, None, None, 5.0)]
    lives = make_lives(rows)
    assert scheme_of(lives).looks == "own"
    out = drawn(lives).filter(pl.col("high").is_not_null())
    widths = (out["high"] - out["low"]).round(6)
    assert (widths > 0.0).all()
    assert widths.max() <= 1.5


def test_shares_of_lives_keep_their_weight(make_lives):
    out = drawn(make_lives([(0.0, 5.0, 5.0, None, 2.7), (0.0, 5.0, None, None, 1.3)]))
    assert out.group_by("draw").agg(pl.col("count").sum())["count"].to_list() == pytest.approx(
        [4.0] * 50
    )


@settings(max_examples=25)
@given(
    rows=st.lists(
        st.tuples(
            st.integers(0, 5), st.integers(0, 5), st.integers(0, 5), st.sampled_from("gfiks")
        ),
        min_size=1,
        max_size=12,
    ),
    seed=st.integers(0, 99),
)
def test_drawn_lives_are_lives(rows, seed):
    made = []
    for entry, wait, width, kind in rows:
        low, high = float(entry + wait), float(entry + wait + width + 1)
        made.append(
            {
                "g": (float(entry), low + 1.0, None, None),
                "f": (float(entry), high, high, None),
                "i": (float(entry), low, high, None),
                "k": (float(entry), high, high, high + 2.0),
                "s": (float(entry), low, high, high + 1.0),
            }[kind]
        )
    lives = pl.DataFrame([(*row, 1.5) for row in made], schema=LIFE, orient="row")
    out = drawn(lives, draws=5, seed=seed)
    check_lives(out.select(LIFE.names()), ())
