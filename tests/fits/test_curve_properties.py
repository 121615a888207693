"""What must hold of any curve, whatever the lives; and other libraries where they can."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.fits import curve
from fleet.fits.curves.kaplan_meier import kaplan_meier
from fleet.frames import LIFE

METHODS = ("auto", "km", "turnbull")


@st.composite
def tables(draw, kinds=("exact", "censored", "interval", "first")):
    rows = []
    for _ in range(draw(st.integers(2, 9))):
        entry = float(draw(st.integers(0, 3)))
        low = entry + draw(st.integers(1, 8))
        kind = draw(st.sampled_from(kinds))
        high = {"exact": low, "censored": None, "interval": low + 2.0, "first": low}[kind]
        rows.append((entry, entry if kind == "first" else low, high, None, 1.0))
    return pl.DataFrame(rows, schema=LIFE, orient="row")


def same(one, other, *, within=1e-7):
    assert one.columns == other.columns
    for column in one.columns:
        if one.schema[column] != pl.Float64:
            assert one[column].equals(other[column])
            continue
        got, want = one[column].to_numpy(), other[column].to_numpy()
        assert got == pytest.approx(want, abs=within, rel=within, nan_ok=True)


@given(tables(), st.sampled_from(METHODS))
def test_counts_split_or_merged_change_nothing(lives, method):
    merged = pl.concat([lives, lives])
    counted = lives.with_columns(pl.col("count") * 2.0)
    shared = pl.concat([counted.with_columns(pl.col("count") * share) for share in (0.25, 0.75)])
    want = curve(counted, method=method).points
    for other in (merged, shared):
        same(curve(other, method=method).points, want)


@given(tables(), st.sampled_from(METHODS), st.sampled_from([1e-8, 1e11]))
def test_counts_of_any_size_give_the_same_curve(lives, method, factor):
    want = curve(lives, method=method).points
    got = curve(lives.with_columns(pl.col("count") * factor), method=method).points
    same(got.select("age", "survival"), want.select("age", "survival"))


@given(tables(), st.sampled_from(METHODS), st.sampled_from([1 / 365.25, 24.0, 1e-6, 1e6]))
def test_scaling_ages_scales_the_ages_alone(lives, method, factor):
    want = curve(lives, method=method).points
    scaled = lives.with_columns(pl.col("entry", "low", "high") * factor)
    got = curve(scaled, method=method).points
    assert got["age"].to_numpy() == pytest.approx((want["age"] * factor).to_numpy())
    same(got.drop("age"), want.drop("age"))


@given(tables(), st.sampled_from(METHODS), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(lives, method, random):
    index = list(range(lives.height))
    random.shuffle(index)
    same(curve(lives[index], method=method).points, curve(lives, method=method).points)


@given(tables(kinds=("exact", "censored")), st.integers(0, 40))
def test_kaplan_meier_alone_is_the_same_to_the_last_bit(lives, place):
    rng = np.random.default_rng(place)
    group = rng.integers(0, 40, 400)
    group = np.where(group == place, 41, group)
    entry = rng.integers(0, 5, 400).astype(float)
    low = entry + rng.integers(1, 20, 400)
    high = pl.Series(np.where(rng.random(400) < 0.5, low, np.nan)).fill_nan(None)
    many = pl.DataFrame(
        {"entry": entry, "low": low, "high": high, "known_by": None, "count": 1.0, "_group": group},
        schema_overrides={"known_by": pl.Float64, "_group": pl.Int64},
    )
    own = lives.with_columns(_group=pl.lit(place, pl.Int64))
    among = kaplan_meier(pl.concat([many[:200], own, many[200:]]), level=0.95)
    assert among.filter(pl.col("_group") == place).equals(kaplan_meier(own, level=0.95))


@pytest.mark.parametrize(
    "counts", [(1.0,), (0.5, 1.0, 2.0), tuple(1.0 + i / 997 for i in range(300))]
)
@pytest.mark.parametrize("unit", [1.0, 1 / 365.25, 1 / 7.3])
def test_every_way_of_ordering_ages_gives_the_definition(counts, unit):
    # whole days, days in years, and any other number; few weights and many
    rng = np.random.default_rng(11)
    entry = rng.integers(0, 50, 300)
    low = (entry + rng.integers(1, 90, 300)) * unit
    entry = entry * unit
    seen, weight = rng.random(300) < 0.5, np.resize(counts, 300)
    lives = pl.DataFrame(
        {
            "entry": entry,
            "low": low,
            "high": pl.Series(np.where(seen, low, np.nan)).fill_nan(None),
            "known_by": pl.Series([None] * 300, dtype=pl.Float64),
            "count": weight,
        }
    )
    points = curve(lives).points
    survival = 1.0
    for row in points.filter(pl.col("failures") > 0.0).iter_rows(named=True):
        n = weight[(entry < row["age"]) & (row["age"] <= low)].sum()
        d = weight[seen & (low == row["age"])].sum()
        survival *= 1.0 - d / n
        assert (row["at_risk"], row["failures"]) == pytest.approx((n, d), abs=1e-9)
        assert row["survival"] == pytest.approx(survival, abs=1e-12)
    assert set(points["age"].to_list()) <= {*low, *entry}


def test_nobody_watched_between_is_said(make_lives):
    rows = [(0.0, 2.0, 2.0), (0.0, 3.0, None), (0.0, 3.0, None), (5.0, 6.0, 6.0), (5.0, 8.0, None)]
    result = curve(make_lives(rows), unit="years")
    assert "Nobody of all lives was watched between age 3 years and 5 years" in result.notes[0]
    assert result.points["survival"].to_list() == pytest.approx([1.0, 2 / 3, 1 / 3, 1 / 3])


@pytest.mark.filterwarnings("ignore")  # of lifelines and pandas, not ours
def test_interval_censoring_against_lifelines(make_lives):
    from lifelines import KaplanMeierFitter

    rng = np.random.default_rng(8)
    low = 12.0 * rng.random(80)  # no ties: their intervals hold both ends, ours only the later
    high = low + 5.0 * rng.random(80)
    other = KaplanMeierFitter().fit_interval_censoring(low, high, tol=1e-12)
    lives = make_lives([(0.0, a, b) for a, b in zip(low, high, strict=True)])
    points = curve(lives).points.filter(pl.col("failures") > 1e-6)
    below = other.survival_function_.min(axis=1)
    for age, survival in points.select("age", "survival").rows():
        want = below[below.index <= age].iloc[-1]
        assert survival == pytest.approx(want, abs=5e-4)  # where their steps stop


def test_channing_house_by_gender_from_an_age_on(reference):
    """Published sets: women and men given alive at 816 months; the men's own curve falls to 0."""
    for gender in ("1", "2"):
        want = reference.expected["channing"]["fits"][f"gender={gender}"]["km_given_alive_at_816"]
        lives, _ = reference.lives("channing", f"gender={gender}")
        late = lives.filter(pl.col("low") > 816.0).with_columns(
            pl.col("entry").clip(lower_bound=816.0)
        )
        points = curve(late).points
        for row in want:
            got = points.filter(pl.col("age") <= row["age"])["survival"][-1]
            assert got == pytest.approx(row["S"], abs=1e-10)
