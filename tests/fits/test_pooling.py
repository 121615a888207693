"""May lives be taken together: the tests behind the gate."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame
from fleet.fits.groups.life_ages import Ages
from fleet.fits.groups.mode_ages import modes_by_age
from fleet.fits.groups.scale_score import chi_square_score, score
from fleet.fits.groups.watched_anew import draw_anew, watch_of
from fleet.fits.pooling import POOLING, pooling_tests
from fleet.fits.rows import cut_rows
from fleet.fits.solver.batch import maxima

# days, died, age, residual disease, treatment, performance: 26 patients of Edmonson et al. 1979,
# Cancer Treatment Reports 63:241-247, as `ovarian` in R's survival 3.5-3.
OVARIAN = [
    (59, 1, 72.3315, 2, 1, 1), (115, 1, 74.4932, 2, 1, 1), (156, 1, 66.4658, 2, 1, 2),
    (421, 0, 53.3644, 2, 2, 1), (431, 1, 50.3397, 2, 1, 1), (448, 0, 56.4301, 1, 1, 2),
    (464, 1, 56.937, 2, 2, 2), (475, 1, 59.8548, 2, 2, 2), (477, 0, 64.1753, 2, 1, 1),
    (563, 1, 55.1781, 1, 2, 2), (638, 1, 56.7562, 1, 1, 2), (744, 0, 50.1096, 1, 2, 1),
    (769, 0, 59.6301, 2, 2, 2), (770, 0, 57.0521, 2, 2, 1), (803, 0, 39.2712, 1, 1, 1),
    (855, 0, 43.1233, 1, 1, 2), (1040, 0, 38.8932, 2, 1, 2), (1106, 0, 44.6, 1, 1, 1),
    (1129, 0, 53.9068, 1, 2, 1), (1206, 0, 44.2055, 2, 2, 1), (1227, 0, 59.589, 1, 2, 2),
    (268, 1, 74.5041, 2, 1, 2), (329, 1, 43.137, 2, 1, 1), (353, 1, 63.2192, 1, 2, 2),
    (365, 1, 64.4247, 2, 2, 1), (377, 0, 58.3096, 1, 2, 1),
]  # fmt: skip
NAMES = ("futime", "fustat", "age", "resid", "rx", "ecog")


@pytest.fixture(scope="module")
def ovarian(make_lives):
    rows = [(0.0, float(d), float(d) if died else None) for d, died, *_ in OVARIAN]
    table = pl.DataFrame(OVARIAN, schema=dict.fromkeys(NAMES, pl.Float64), orient="row")
    return make_lives(rows).hstack(table)


def _theory(lives, columns):
    rows = cut_rows(lives, ())
    fit = maxima(rows)
    x = lives.select(columns).to_numpy()
    ages = Ages(rows.entry, rows.low, rows.high, rows.known_by)
    return chi_square_score(
        ages, rows.count, x - x.mean(axis=0), float(fit.shape[0]), float(np.log(fit.scale[0]))
    )


@pytest.mark.parametrize(
    ("columns", "freedom", "expected"),
    [(["ecog", "rx"], 2, 2.0920002801), (["resid"], 1, 6.6862090154)],
)
def test_score_statistic_as_r_survival(ovarian, columns, freedom, expected):
    """R: survreg with maxiter = 0 at the fit without the columns; slope' var slope."""
    found = _theory(ovarian, columns)
    assert found.freedom == freedom
    assert found.statistic == pytest.approx(expected, rel=1e-7)


def test_likelihood_ratio_where_the_likelihood_is_not_concave(ovarian):
    """R: survreg(Surv(futime, fustat) ~ age): logliks -97.9539 and -90.00123."""
    found = _theory(ovarian, ["age"])
    assert found.statistic == pytest.approx(2 * (97.9539 - 90.00123), abs=2e-4)
    assert found.p_value < 1e-4


def test_aged_patients_fail_sooner_also_by_draws(ovarian):
    found = score(cut_rows(ovarian, ()), ovarian.select("age").to_numpy(), seed=1)
    assert found.by == "drawn_anew"
    assert found.p_value <= 0.005


def test_unit_and_shift_of_the_column_change_nothing(ovarian):
    rows = cut_rows(ovarian, ())
    x = ovarian.select("resid").to_numpy()
    one, other = score(rows, x, seed=1), score(rows, 1990.0 + 0.1 * x, seed=1)
    assert one.p_value == other.p_value
    assert one.statistic == pytest.approx(other.statistic, rel=1e-9)


def test_modes_as_scipy_kruskal():
    from scipy.stats import kruskal

    rng = np.random.default_rng(1)
    age = np.round(rng.exponential(10.0, 24))
    mode = rng.integers(0, 3, 24)
    found, _ = modes_by_age(age, mode, seed=1)
    assert found == pytest.approx(kruskal(*(age[mode == m] for m in range(3))).statistic, rel=1e-10)


def test_modes_of_six_failures_by_counting():
    """2, 3, 5 against 7, 11, 13: as far apart as can be, so 2 of the 20 ways do as much."""
    found, p = modes_by_age(np.array([2.0, 3, 5, 7, 11, 13]), np.array([0, 0, 0, 1, 1, 1]), seed=1)
    assert found == pytest.approx(12 / (6 * 7) * (6**2 / 3 + 15**2 / 3) - 3 * 7)
    assert p == pytest.approx(0.1, abs=0.03)


def test_all_failures_at_one_age_tell_no_mode_apart():
    assert modes_by_age(np.full(6, 4.0), np.array([0, 0, 0, 1, 1, 1]), seed=1) == (0.0, 1.0)


def _fleet(rng, n, effect=0.0, shape=3.0):
    """Built 1995 to 2010, watched from 2008 to 2024; life times exp(effect) a later year."""
    built = rng.uniform(1995.0, 2010.0, n)
    scale = 14.0 * np.exp(effect * (built - 2002.5))
    entry = np.maximum(2008.0 - built, 0.0)
    age = scale * ((entry / scale) ** shape + rng.exponential(size=n)) ** (1.0 / shape)
    end = 2024.0 - built
    failed = age <= end
    return pl.DataFrame(
        {
            "entry": entry,
            "low": np.where(failed, age, end),
            "high": np.where(failed, age, np.nan),
            "known_by": np.full(n, np.nan),
            "count": np.ones(n),
            "model": ["M"] * n,
            "built": built,
            "batch": [f"B{k % 3}" for k in range(n)],
        }
    ).with_columns(pl.col(pl.Float64).fill_nan(None))


def _row(frame, question):
    return frame.filter(question=question).row(0, named=True)


def test_a_trend_over_the_build_year_is_found_with_its_size():
    found = _row(pooling_tests(_fleet(np.random.default_rng(5), 80, effect=-0.08)), "build_year")
    assert found["p_value"] <= 0.01
    assert found["effect"] == pytest.approx(np.exp(-0.08 * 5), rel=0.3)
    assert found["groups"].startswith("built 199")


def test_frame_and_reasons():
    lives = _fleet(np.random.default_rng(6), 40)
    frame = pooling_tests(lives)
    assert frame.schema == POOLING
    assert frame["question"].to_list() == [
        "build_year", "batches", "revisions", "parts", "positions", "mixture"
    ]  # fmt: skip
    reasons = dict(frame.select("question", "reason").iter_rows())
    assert reasons["revisions"] == "no unit is known to be of one revision or another"
    assert reasons["parts"] == "no life of replaced parts is known"
    assert reasons["batches"] is None
    with_test = frame.filter(pl.col("p_value").is_not_null())
    assert (with_test["p_corrected"] >= with_test["p_value"]).all()
    few = pooling_tests(lives.filter(pl.col("high").is_not_null()).head(4))
    assert few["p_value"].is_null().all()
    assert _row(few, "mixture")["reason"] == "fewer than 5 failures"


def test_corrected_as_scipy():
    from scipy.stats import false_discovery_control

    from fleet.fits.pooling import _corrected

    p = np.array([0.3, 0.01, 0.04, 0.9, 0.02])
    with_gap = pl.Series([*p[:2], None, *p[2:]])
    found = _corrected(with_gap)
    assert found[2] is None
    assert found.drop_nulls().to_numpy() == pytest.approx(false_discovery_control(p))


def test_replaced_parts_are_held_against_the_original():
    rng = np.random.default_rng(7)
    both = pl.concat(
        [
            _fleet(rng, 50).with_columns(parts=pl.lit("original")),
            _fleet(rng, 50).with_columns(
                parts=pl.lit("replaced_known"),
                low=pl.col("low") * 2.0,
                high=pl.col("high") * 2.0,
            ),
        ]
    )
    assert _row(pooling_tests(both), "parts")["p_value"] <= 0.01
    assert _row(pooling_tests(both), "batches")["lives"] == 50.0


def test_lives_drawn_anew_keep_their_watch():
    lives = _fleet(np.random.default_rng(8), 60)
    rows = cut_rows(lives, ())
    fit = maxima(rows)
    shape, log_scale = float(fit.shape[0]), float(np.log(fit.scale[0]))
    drawn = draw_anew(watch_of(rows), shape, log_scale, 400, np.random.default_rng(1))
    assert (drawn.entry == rows.entry).all()
    assert (drawn.low >= drawn.entry).all()
    still = np.isnan(rows.high)
    never_failed = np.isnan(drawn.high[:, still])
    ends = np.broadcast_to(rows.low[still], never_failed.shape)[never_failed]
    assert (drawn.low[:, still][never_failed] == ends).all()
    # a life watched from a to c fails with chance 1 - exp(H(a) - H(c))
    chance = -np.expm1(
        np.exp(shape * (np.log(np.maximum(rows.entry, 1e-300)) - log_scale))
        - np.exp(shape * (np.log(rows.low) - log_scale))
    )[still]
    assert (~never_failed).mean() == pytest.approx(chance.mean(), abs=0.02)


def test_failures_alone_fall_within_their_window():
    lives = pl.DataFrame(
        {
            "entry": [2.0] * 8,
            "low": [3.0, 4, 5, 6, 7, 8, 9, 9.5],
            "high": [3.0, 4, 5, 6, 7, 8, 9, 9.5],
            "known_by": [10.0] * 8,
            "count": [1.0] * 8,
        }
    )
    drawn = draw_anew(watch_of(cut_rows(lives, ())), 2.0, 2.0, 100, np.random.default_rng(1))
    assert ((drawn.high > 2.0) & (drawn.high <= 10.0)).all()


def test_faulty_lives_are_refused():
    with pytest.raises(BadFrame):
        pooling_tests(_fleet(np.random.default_rng(1), 5).with_columns(low=-pl.col("low")))


@pytest.mark.slow
def test_alike_fleets_are_seldom_parted():
    """60 fleets of about 12 failures without a trend: p <= 0.1 in about a tenth at most."""
    lives = [
        _fleet(np.random.default_rng(100 + k), 25).with_columns(model=pl.lit(f"M{k:02}"))
        for k in range(60)
    ]
    frame = pooling_tests(pl.concat(lives), questions=("build_year", "batches"))
    for question in ("build_year", "batches"):
        p = frame.filter(question=question)["p_value"].drop_nulls()
        assert len(p) > 50
        assert (p <= 0.1).mean() <= 0.2


def test_a_model_whose_lives_are_as_before_is_not_tested_anew():
    rng = np.random.default_rng(9)
    both = [_fleet(rng, 40).with_columns(model=pl.lit(name)) for name in ("M", "N")]
    kept, worked = {}, []

    def again(own, asked, work):
        key = (own.write_json(), asked)
        if key not in kept:
            worked.append(own["model"][0])
            kept[key] = work()
        return kept[key]

    plain = pooling_tests(pl.concat(both))
    assert pooling_tests(pl.concat(both), again=again).equals(plain)
    assert pooling_tests(pl.concat(both), again=again).equals(plain)
    fewer = pl.concat([both[0], both[1].head(30)])
    changed = pooling_tests(fewer, again=again)
    assert worked == ["M", "N", "N"]
    assert changed.equals(pooling_tests(fewer))
    assert not changed.equals(plain)
