"""Groups told apart, or not: by hand, against a library, on a published outlier, by redraws."""

import math

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame, BadInput
from fleet.fits.batch_or_design import lives_alike, number_of_tests
from fleet.fits.rows import cut_rows
from fleet.fits.suspects.deviation import deviations, spread_when_many
from fleet.fits.suspects.redrawn import redrawn_deviations
from fleet.fits.suspects.same_ageing import same_ageing
from fleet.fits.suspects.told_apart import hold
from fleet.frames import LIFE


def _lives(rows, names, **more):
    frame = pl.DataFrame(
        [(float(e), float(low), high, known, float(n)) for e, low, high, known, n in rows],
        LIFE,
        orient="row",
    )
    return frame.with_columns(batch=pl.Series(names, dtype=pl.String), **more)


def _drawn(rng, n, scale, *, shape=3.0, entry=(0.0, 0.0), end=(8.0, 20.0)):
    """Lives watched from a late entry to an end of their own, as (age rows)."""
    start = rng.uniform(*entry, n)
    stop = start + rng.uniform(*end, n)
    age = scale * ((start / scale) ** shape + rng.exponential(size=n)) ** (1.0 / shape)
    return [
        (e, min(a, s), a if a <= s else None, None, 1.0)
        for e, a, s in zip(start, age, stop, strict=True)
    ]


def test_deviations_by_hand():
    # Shape 2, scale 10: cumulative hazards of ages 5 and 10 are 0.25 and 1.
    lives = _lives(
        [(0, 5, 5.0, None, 2), (5, 10, None, None, 4), (5, 10, None, None, 1)],
        ["A", "A", "B"],
    )
    rows = cut_rows(lives, ["batch"])
    root, excess = deviations(rows, np.array([2.0, 2.0]), np.log([10.0, 10.0]))
    expected = 2 * 0.25 + 4 * 0.75
    assert excess == pytest.approx([2 - expected, -0.75])
    gain = 2 * (2 * math.log(2 / expected) - (2 - expected))
    # B: no failure where 0.75 are expected, so sign - sqrt(2 * 0.75).
    assert root == pytest.approx([-math.sqrt(gain), -math.sqrt(1.5)])


def test_a_deviation_is_the_deviance_residual_of_a_count():
    """statsmodels' Poisson deviance residuals of failures against those expected."""
    import statsmodels.api as sm

    rng = np.random.default_rng(4)
    rows, names = [], []
    for name in "ABCDEF":
        own = _drawn(rng, 15, 12.0, entry=(0.0, 6.0))
        rows, names = rows + own, names + [name] * len(own)
    cut = cut_rows(_lives(rows, names), ["batch"])
    shape, scale = np.full(6, 2.5), np.full(6, 11.0)
    root, _ = deviations(cut, shape, np.log(scale))
    hazard = (cut.low / 11.0) ** 2.5 - (cut.entry / 11.0) ** 2.5
    group = np.repeat(np.arange(6), np.diff(cut.starts))
    expected = np.bincount(group, weights=hazard)
    failures = np.bincount(group, weights=~np.isnan(cut.high))
    assert root == pytest.approx(sm.families.Poisson().resid_dev(failures, expected), rel=1e-9)


def test_a_life_known_only_because_it_failed_deviates_by_its_window():
    # Within the window (0, 8] the age 4 of shape 1: gain against the best rate, by a fine grid.
    lives = _lives([(0, 4, 4.0, 8.0, 1), (0, 2, 2.0, 8.0, 1)], ["A", "A"])
    root, _ = deviations(cut_rows(lives, ["batch"]), np.array([1.0]), np.log([2.0]))

    def value(rate):
        return 2 * np.log(rate) - 6 * rate - 2 * np.log(-np.expm1(-8 * rate))

    rates = np.geomspace(1e-4, 10, 200_001)
    best = value(rates).max()
    sign = 1.0 if rates[value(rates).argmax()] > 0.5 else -1.0
    assert root[0] == pytest.approx(sign * math.sqrt(2 * (best - value(0.5))), abs=1e-5)


# Times to infection of the ten men, two each (McGilchrist and Aisbett 1991, Biometrics
# 47:461-466; data set `kidney` of R's survival 3.5-3, read there).
KIDNEY_MEN = """1 8 1 1 16 1 3 22 1 3 28 1 5 30 1 5 12 1 7 7 1 7 9 1 10 15 1 10 154 1 16 17 1 16 4 0
21 152 1 21 562 1 25 12 1 25 40 1 29 2 1 29 25 1 38 63 1 38 8 0"""


def test_the_published_outlier_is_told_apart_and_nobody_else():
    """Patient 21. In R, coxph(Surv(time, status) ~ age + sex + frailty(id), kidney) has variance
    of the random effect 0.412 (p 0.040); without patient 21 it is 5e-07 (p 0.93): the others
    are alike. Therneau and Grambsch 2000 (Modeling Survival Data, ch. 9) discuss it; from memory.
    """
    cells = KIDNEY_MEN.split()
    rows = [(cells[i], float(cells[i + 1]), cells[i + 2] == "1") for i in range(0, 60, 3)]
    lives = _lives([(0, t, t if s else None, None, 1) for _, t, s in rows], [p for p, *_ in rows])
    families, groups = lives_alike(lives, [], "batch")
    told = groups.filter(pl.col("order").is_not_null())
    assert told["batch"].to_list() == ["21"]
    assert told["expected"].item() > 3 * told["failures"].item()  # it lasts longer
    assert told["p_adjusted"].item() == pytest.approx(10 * told["p_value"].item())
    assert families["p_rest_alike"].item() > 0.2
    assert groups.filter(pl.col("order").is_null())["p_adjusted"].min() > 0.1


def test_a_batch_of_half_the_life_is_found_and_accuses_no_other():
    rng = np.random.default_rng(11)
    rows, names = [], []
    for name, scale in (("bad", 7.0), ("good-1", 15.0), ("good-2", 15.0), ("good-3", 15.0)):
        own = _drawn(rng, 25, scale, entry=(0.0, 5.0))
        rows, names = rows + own, names + [name] * len(own)
    families, groups = lives_alike(_lives(rows, names), [], "batch")
    told = groups.filter(pl.col("order").is_not_null())
    assert told["batch"].to_list() == ["bad"]
    assert told["failures"].item() > told["expected"].item()
    assert families["apart"].item() == 1
    assert families["p_rest_alike"].item() > 0.05
    # A shape pooled over bad and good is far too low: the good would look long-lived beside it.
    assert groups.filter(pl.col("order").is_null())["p_value"].min() > 0.05


def test_late_entry_and_failures_alone_do_not_make_a_batch():
    """One batch watched from new, one entered old, one known only by failures within a window:
    the same life. Fair p-values are below 0.1 in a tenth of the fleets.
    """
    rng, low = np.random.default_rng(2), 0
    fleets = 60
    for seed in range(fleets):
        new = _drawn(rng, 20, 12.0, end=(4.0, 9.0))
        old = _drawn(rng, 20, 12.0, entry=(8.0, 14.0), end=(2.0, 6.0))
        window = rng.uniform(8.0, 14.0, 14)
        share = rng.uniform(size=14) * -np.expm1(-((window / 12.0) ** 3))
        age = 12.0 * (-np.log1p(-share)) ** (1 / 3)
        only = [(0.0, a, a, k, 1.0) for a, k in zip(age, window, strict=True)]
        names = ["new"] * 20 + ["old"] * 20 + ["only"] * 14
        families, _ = lives_alike(_lives(new + old + only, names), [], "batch", draws=99, seed=seed)
        low += families["p_alike"].item() <= 0.1
    # 6 are expected; more than 13 would come up once in 500 (binomial).
    assert low <= 13


def test_one_failure_of_one_is_never_told_apart():
    rng = np.random.default_rng(3)
    own = _drawn(rng, 40, 15.0)
    lives = _lives([*own, (0.0, 3.0, 3.0, None, 1.0)], ["many"] * 40 + ["single"])
    _, groups = lives_alike(lives, [], "batch")
    single = groups.filter(batch="single")
    assert single["p_value"].item() > 0.002
    assert single["failures"].item() == 1.0


def test_families_are_apart_and_every_look_is_counted():
    rng = np.random.default_rng(8)
    parts = []
    for model in ("M1", "M2"):
        for batch in ("A", "B", "C"):
            own = _drawn(rng, 12, 12.0)
            parts.append(_lives(own, [batch] * 12, model=pl.lit(model)))
    families, groups = lives_alike(pl.concat(parts), ["model"], "batch")
    assert families["model"].to_list() == ["M1", "M2"]
    assert families["groups"].to_list() == [3, 3]
    p, adjusted = groups["p_value"].to_numpy(), groups["p_adjusted"].to_numpy()
    assert adjusted == pytest.approx(np.minimum(6 * p, 1.0))
    alone, _ = lives_alike(pl.concat(parts[:3]), [], "batch")
    assert alone["p_alike"].item() == families["p_alike"][0]


def test_order_of_rows_and_unit_of_age_do_not_matter():
    rng = np.random.default_rng(5)
    own = _drawn(rng, 30, 12.0, entry=(0.0, 4.0))
    lives = _lives(own, [*"AB" * 15])
    ages = pl.col("entry", "low", "high", "known_by") * 365.0
    _, years = lives_alike(lives, [], "batch", draws=199)
    _, days = lives_alike(lives.with_columns(ages), [], "batch", draws=199)
    _, turned = lives_alike(lives.reverse(), [], "batch", draws=199)
    for other in (days, turned):
        assert other["expected"].to_numpy() == pytest.approx(years["expected"].to_numpy(), rel=1e-4)
        assert other["p_value"].to_numpy() == pytest.approx(years["p_value"].to_numpy(), abs=1e-9)


def test_what_cannot_be_compared_says_why():
    still = [(0, 5, None, None, 1)] * 4
    families, groups = lives_alike(_lives(still, [*"AABB"]), [], "batch")
    assert "fewer than 3 failures" in families["reason"].item()
    assert groups["p_value"].null_count() == 2
    families, _ = lives_alike(_lives(still, ["A"] * 4), [], "batch")
    assert "only one group" in families["reason"].item()
    same = [(0, 5, 5.0, None, 1)] * 4
    families, _ = lives_alike(_lives(same, [*"AABB"]), [], "batch")
    assert "fix no Weibull" in families["reason"].item()


def test_bad_input_is_refused():
    lives = _lives([(0, 5, 5.0, None, 1)] * 4, [*"AABB"])
    with pytest.raises(BadInput, match="at least 99"):
        lives_alike(lives, [], "batch", draws=20)
    with pytest.raises(BadFrame, match="low < entry"):
        lives_alike(lives.with_columns(entry=pl.lit(7.0)), [], "batch")
    assert [number_of_tests(n) for n in (2, 3, 7)] == [1, 3, 7]


def test_failures_closer_together_in_age_are_seen():
    rng = np.random.default_rng(6)
    steep = _drawn(rng, 40, 6.0, shape=12.0)
    flat = _drawn(rng, 40, 14.0, shape=2.0)
    lives = _lives(steep + flat, ["A"] * 40 + ["B"] * 40)
    p, times = same_ageing(lives, pl.col("batch") == "A")
    assert p < 1e-4
    assert 3.0 < times < 12.0
    alike = _lives(flat, [*"AB" * 20])
    p, _ = same_ageing(alike, pl.col("batch") == "A")
    assert p > 0.05
    assert same_ageing(alike, pl.lit(value=True)) == (None, None)


def test_with_many_failures_draws_and_formula_agree():
    rng = np.random.default_rng(12)
    rows, names = [], []
    for name, n in (("A", 60), ("B", 150), ("C", 300)):
        own = _drawn(rng, n, 12.0, entry=(0.0, 3.0))
        rows, names = rows + own, names + [name] * n
    cut = cut_rows(_lives(rows, names), ["batch"])
    drawn = redrawn_deviations(cut, 3.0, math.log(12.0), draws=1500, seed=1)
    # The standard error of a spread from 1,500 draws is 1.8 %.
    assert drawn.std(axis=0) == pytest.approx(spread_when_many(cut, 3.0, math.log(12.0)), rel=0.06)


def test_with_forty_failures_a_group_tails_are_those_of_the_normal():
    """Two-sided 10, 5 and 1 % points; the standard errors of 4,500 looks are 0.45, 0.33, 0.15 %."""
    rng = np.random.default_rng(4)
    lives = [_lives(_drawn(rng, 52, 12.0, entry=(0.0, 3.0)), [name] * 52) for name in "ABC"]
    cut = cut_rows(pl.concat(lives), ["batch"])
    failed = [int((~np.isnan(cut.take(g, g + 1).high)).sum()) for g in range(3)]
    assert all(35 <= number <= 50 for number in failed)
    drawn = redrawn_deviations(cut, 3.0, math.log(12.0), draws=1500, seed=2)
    far = np.abs(drawn / spread_when_many(cut, 3.0, math.log(12.0)))
    for point, share, error in ((1.645, 0.1, 0.0045), (1.96, 0.05, 0.0033), (2.576, 0.01, 0.0015)):
        assert (far > point).mean() == pytest.approx(share, abs=4 * error)


@pytest.mark.parametrize(("small", "drawn"), [(400, 0), (8, 99)])
def test_a_large_family_is_drawn_less_often_or_not_at_all(small, drawn):
    """Where every group has many failures none is drawn; one small group, and some are."""
    rng = np.random.default_rng(14)
    lives = [
        _lives(_drawn(rng, n, scale), [name] * n)
        for name, n, scale in (("bad", 1000, 9.0), ("A", 1000, 12.0), ("few", small, 12.0))
    ]
    every = pl.concat(lives)
    _, groups = lives_alike(every, [], "batch")
    told = groups.filter(pl.col("order") == 1)["batch"].to_list()
    # of three that differ, the one furthest from them all together
    assert told in (["bad"], ["A"])
    assert groups.filter(batch="few")["p_value"].item() > 0.05
    stage = hold(cut_rows(every.sort("batch"), ["batch"]), [0, 1, 2], draws=999, seed=1)
    assert drawn <= stage.draws <= 999 / 2


def test_of_very_many_families_the_bad_batch_is_found_too():
    rng = np.random.default_rng(13)
    parts = []
    for number in range(70):
        for batch in ("A", "B", "C"):
            scale = 5.0 if (number, batch) == (40, "B") else 12.0
            own = _drawn(rng, 12, scale)
            parts.append(_lives(own, [batch] * 12, model=pl.lit(f"M{number:02}")))
    families, groups = lives_alike(pl.concat(parts), ["model"], "batch")
    told = groups.filter(pl.col("order").is_not_null())
    assert told.select("model", "batch").rows() == [("M40", "B")]
    assert families["p_alike"].null_count() == 0
    plain = groups.filter(model="M00")
    # Plainly alike families count among the comparisons too.
    assert plain["p_adjusted"].to_list() == [1.0] * 3
    assert told["p_adjusted"].item() == pytest.approx(210 * told["p_value"].item())
