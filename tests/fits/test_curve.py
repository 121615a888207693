"""Kaplan-Meier and Turnbull curves."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import BadInput
from fleet.fits import curve
from fleet.frames import CURVE, LIFE


def failures(points):
    return points.filter(pl.col("failures") > 1e-9)


def test_ties_with_entries_by_hand(make_lives):
    # given with the design of this project: an entry at 2 is not at risk at 2
    x, entry = [2.0, 3.0, 3.0, 4.0, 5.0, 6.0], [0.0, 0.0, 1.0, 1.0, 2.0, 2.0]
    lives = make_lives([(e, t, t) for e, t in zip(entry, x, strict=True)])
    for method in ("auto", "turnbull"):
        points = failures(curve(lives, method=method).points)
        assert points["at_risk"].to_list() == [4.0, 5.0, 3.0, 2.0, 1.0]
        assert points["survival"][:2].to_list() == pytest.approx([0.75, 0.45], abs=1e-12)
        assert points["survival"].to_list() == pytest.approx([0.75, 0.45, 0.3, 0.15, 0.0])
        assert points["cumulative_hazard"].to_list() == pytest.approx(
            np.cumsum([1 / 4, 2 / 5, 1 / 3, 1 / 2, 1.0]).tolist()
        )


def test_exact_and_interval_by_hand(make_lives):
    # p at 2, 1 - p at 3: log p + 5 log(1 - p), so p = 1/6 (given with the design)
    points = curve(
        make_lives([(0.0, 2.0, 2.0), (0.0, 3.0, 3.0, None, 5.0), (0.0, 1.0, 3.0, None, 5.0)])
    ).points
    assert points.filter(pl.col("age") <= 2.5)["survival"][-1] == pytest.approx(5 / 6, abs=1e-9)
    # of the five in (1, 3] a sixth is expected at 2
    assert failures(points)["failures"].to_list() == pytest.approx([1 + 5 / 6, 5 + 25 / 6])


def test_nist_8215(make_lives):
    # NIST/SEMATECH e-Handbook 8.2.1.5: 20 units, R printed as products of (n - j) / (n - j + 1)
    failed, removed = (10, 32, 56, 98, 122, 181), (50, 100, 125, 150)
    rows = [(0.0, float(t), float(t)) for t in failed]
    rows += [(0.0, float(t), None) for t in removed] + [(0.0, 200.0, None, None, 10.0)]
    points = failures(curve(make_lives(rows)).points)
    assert points["at_risk"].to_list() == [20, 19, 17, 16, 14, 11]
    want = [19 / 20, 18 / 20, 0.847059, 0.794118, 0.737395, 0.670359]
    assert points["survival"].to_list() == pytest.approx(want, abs=5e-7)


def test_columns_first_and_last_row(make_lives):
    lives = make_lives([(0.0, 2.0, 2.0), (0.0, 5.0, None), (0.0, 3.0, None)])
    for method in ("auto", "turnbull"):
        points = curve(lives.with_columns(g=pl.lit("a")), by=["g"], method=method).points
        assert points.columns == ["g", *CURVE.names()]
        assert points.drop("g").schema == CURVE
        assert points["age"].to_list() == [0.0, 2.0, 5.0]
        assert points["at_risk"].to_list() == [3.0, 3.0, 1.0]
        assert points["survival"].to_list() == pytest.approx([1.0, 2 / 3, 2 / 3])
        assert points["survival_low"][0] is None


def test_collapse_with_delayed_entry(make_lives):
    rows = [(0.0, 2.0, 2.0), *((3.0, 5.0 + i, 5.0 + i if i % 2 else None) for i in range(8))]
    for method in ("auto", "turnbull"):
        result = curve(make_lives(rows), method=method)
        assert result.points["survival"][-1] == 0.0
        assert not result.points["supported"].filter(result.points["age"] >= 2.0).any()
        assert "falls to 0 at age 2" in result.notes[0]
        assert "conditional" in result.notes[0]


def test_few_at_risk_are_not_supported(make_lives):
    points = failures(curve(make_lives([(0.0, float(i), float(i)) for i in range(1, 7)])).points)
    assert points["supported"].to_list() == [True] * 4 + [False] * 2


def test_km_leaves_out_what_it_cannot_take_and_says_so(make_lives):
    lives = make_lives([(0.0, 2.0, 2.0), (0.0, 3.0, None), (0.0, 1.0, 1.0, 9.0), (0.0, 1.0, 2.0)])
    result = curve(lives, method="km")
    assert result.points["at_risk"][0] == 2.0
    assert "known only because they failed: 1 left out" in result.notes[0]
    assert "interval: 1 left out" in result.notes[1]
    with pytest.raises(BadInput, match="no method"):
        curve(lives, method="other")


def test_groups_choose_their_own_method(make_lives):
    lives = make_lives([(0.0, 2.0, 2.0), (0.0, 3.0, None), (0.0, 1.0, 2.0), (0.0, 2.0, 4.0)])
    lives = lives.with_columns(g=pl.Series(["a", "a", "b", "b"]))
    both = curve(lives, by=["g"]).points
    for name in ("a", "b"):
        own = curve(lives.filter(pl.col("g") == name), by=["g"]).points
        assert both.filter(pl.col("g") == name).equals(own)


def test_no_lives_and_no_failures(make_lives):
    assert curve(make_lives([])).points.is_empty()
    for method in ("auto", "turnbull"):
        points = curve(make_lives([(0.0, 4.0, None)]), method=method).points
        assert points["survival"].to_list() == [1.0, 1.0]


@pytest.mark.filterwarnings("ignore")  # of lifelines and pandas, not ours
def test_delayed_entry_against_lifelines(make_lives):
    from lifelines import KaplanMeierFitter

    rng = np.random.default_rng(3)
    entry = rng.integers(0, 5, 60).astype(float)
    end = entry + rng.integers(1, 12, 60)
    seen = rng.random(60) < 0.6
    other = KaplanMeierFitter().fit(end, seen, entry=entry)
    lives = make_lives([(e, t, t if s else None) for e, t, s in zip(entry, end, seen, strict=True)])
    points = failures(curve(lives).points)
    want = other.survival_function_at_times(points["age"].to_list()).to_numpy()
    assert points["survival"].to_numpy() == pytest.approx(want, abs=1e-12)


@pytest.mark.filterwarnings("ignore")  # of statsmodels and pandas, not ours
def test_delayed_entry_against_statsmodels(make_lives):
    survfunc = pytest.importorskip("statsmodels.duration.survfunc", reason="statsmodels is absent")
    rng = np.random.default_rng(5)
    entry = np.where(rng.random(60) < 0.5, 0, rng.integers(1, 6, 60)).astype(float)
    # halves keep failures away from entries, where conventions differ
    end = entry + rng.integers(1, 12, 60) + 0.5
    seen = rng.random(60) < 0.6
    other = survfunc.SurvfuncRight(end, seen.astype(int), entry=entry)
    lives = make_lives([(e, t, t if s else None) for e, t, s in zip(entry, end, seen, strict=True)])
    points = failures(curve(lives).points)
    assert points["age"].to_list() == other.surv_times.tolist()
    assert points["survival"].to_numpy() == pytest.approx(other.surv_prob, abs=1e-12)


@pytest.mark.filterwarnings("ignore")
def test_limits_against_scikit_survival(nist_54):
    nonparametric = pytest.importorskip("sksurv.nonparametric", reason="scikit-survival is absent")
    expanded = nist_54[[*range(10), *[10] * 10]]
    ages, survival, limits = nonparametric.kaplan_meier_estimator(
        expanded["high"].is_not_null().to_numpy(), expanded["low"].to_numpy(), conf_type="log-log"
    )
    points = failures(curve(nist_54).points)
    assert points["survival"].to_numpy() == pytest.approx(survival[: points.height])
    assert points["survival_low"].to_numpy() == pytest.approx(limits[0][: points.height])
    assert len(ages) == 11


@st.composite
def tables(draw, above=False):
    """Small whole ages; intervals and delayed entries, windows closed above where asked."""
    rows = []
    for _ in range(draw(st.integers(2, 9))):
        entry = float(draw(st.integers(0, 3)))
        low = entry + draw(st.integers(1, 8))
        kind = draw(st.sampled_from(["exact", "censored", "interval", "first"]))
        high = {"exact": low, "censored": None, "interval": low + 2.0, "first": low}[kind]
        low = entry if kind == "first" else low
        known = high + draw(st.integers(0, 4)) if above and high and draw(st.booleans()) else None
        rows.append((entry, low, high, known, float(draw(st.integers(1, 3)))))
    return pl.DataFrame(rows, schema=LIFE, orient="row")


@given(tables(above=True))
def test_curves_fall_within_0_and_1(lives):
    for method in ("auto", "km", "turnbull"):
        points = curve(lives, method=method).points
        survival = points["survival"].drop_nulls().to_numpy()
        assert ((survival >= 0.0) & (survival <= 1.0)).all()
        assert (np.diff(survival) <= 1e-12).all()
        limits = points.drop_nulls("survival_low")
        assert (limits["survival_low"] <= limits["survival"] + 1e-12).all()
        assert (limits["survival_high"] >= limits["survival"] - 1e-12).all()


@given(tables(), st.randoms(use_true_random=False))
def test_row_order_and_aggregation_do_not_matter(lives, random):
    index = [i for i, n in enumerate(lives["count"]) for _ in range(int(n))]
    random.shuffle(index)
    expanded = lives[index].with_columns(count=pl.lit(1.0))
    for method in ("km", "turnbull"):
        one, other = curve(lives, method=method).points, curve(expanded, method=method).points
        assert one["age"].equals(other["age"])
        assert one["survival"].to_numpy() == pytest.approx(
            other["survival"].to_numpy(), abs=1e-7, nan_ok=True
        )


@given(tables())
def test_kaplan_meier_against_plain_arithmetic(lives):
    plain = lives.filter(pl.col("high").is_null() | (pl.col("high") == pl.col("low")))
    if plain.is_empty():
        return
    points = failures(curve(lives, method="km").points)
    s, rows = 1.0, plain.rows()
    for point in points.iter_rows(named=True):
        t = point["age"]
        n = sum(c for e, low, _, _, c in rows if e < t <= low)
        d = sum(c for _, low, high, _, c in rows if high is not None and low == t)
        s *= 1.0 - d / n
        assert (point["at_risk"], point["failures"]) == (n, d)
        assert point["survival"] == pytest.approx(s, abs=1e-12)


def test_twenty_thousand_groups_without_a_loop(make_lives):
    groups = np.repeat(np.arange(20_000), 3)
    ages = np.tile([1.0, 2.0, 3.0], 20_000)
    lives = pl.DataFrame(
        {"entry": 0.0, "low": ages, "high": ages, "known_by": None, "count": 1.0, "g": groups},
        schema_overrides={"known_by": pl.Float64},
    )
    points = failures(curve(lives, by=["g"]).points)
    assert points["survival"][:3].to_list() == pytest.approx([2 / 3, 1 / 3, 0.0])
    assert points.height == 60_000
