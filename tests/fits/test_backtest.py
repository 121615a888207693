"""Scores of chances given in advance: by hand, and beside scikit-learn, scikit-survival,
lifelines and statsmodels.
"""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame, BadInput
from fleet.fits.backtest import (
    CASES,
    calibration,
    calibration_error,
    mean_by_machine,
    scores,
    weigh_cases,
)


def cases(rows, **more):
    """CASES from (chance, failed, days) or (chance, failed, days, share), one machine each."""
    full = [
        (f"U{n}", chance, 0.5, share[0] if share else 1.0, failed, float(days))
        for n, (chance, failed, days, *share) in enumerate(rows)
    ]
    return pl.DataFrame(full, schema=CASES, orient="row").with_columns(**more)


def one(weighed):
    return scores(weighed).row(0, named=True)


@pytest.fixture(scope="module")
def drawn():
    """Three hundred cases with chances of their own, some lost; times without ties."""
    rng = np.random.default_rng(4)
    chance = rng.uniform(0.05, 0.9, 300)
    # Exponential lives whose chance to end within 2 is `chance`.
    fails = rng.exponential(-2.0 / np.log1p(-chance))
    lost = rng.exponential(3.0, 300)
    days = np.minimum(np.minimum(fails, lost), 2.0)
    failed = (fails <= lost) & (fails <= 2.0)
    return cases(list(zip(chance.tolist(), failed.tolist(), days.tolist(), strict=True)))


def test_all_followed_worked_by_hand():
    said = cases([(0.2, False, 3), (0.4, True, 1), (0.8, True, 2), (0.6, False, 3)])
    row = one(weigh_cases(said, horizon=3.0))
    assert row["predicted"] == pytest.approx(0.5)
    assert row["happened"] == pytest.approx(0.5)
    assert row["brier"] == pytest.approx((0.04 + 0.36 + 0.04 + 0.36) / 4)
    assert row["brier_reference"] == pytest.approx(0.25)
    assert row["gain"] == pytest.approx(0.05)
    assert row["log_score"] == pytest.approx(-np.log([0.8, 0.4, 0.8, 0.4]).mean())
    assert (row["machines"], row["failures"], row["followed"]) == (4, 2.0, 1.0)


def test_one_lost_is_made_up_for_by_those_still_followed():
    said = cases([(0.5, False, 1), (0.5, True, 2), (0.5, False, 3), (0.5, False, 9)])
    weighed = weigh_cases(said, horizon=3.0)
    # One of four is lost on day 1, so each of the three others stands for 4/3.
    assert weighed["weight"].to_list() == pytest.approx([0.0, 4 / 3, 4 / 3, 4 / 3])
    row = one(weighed)
    assert row["happened"] == pytest.approx(1 / 3)
    assert row["followed"] == 0.75
    assert (row["happened_least"], row["happened_most"]) == (0.25, 0.5)


def test_a_failure_before_a_loss_is_not_weighed_up():
    said = cases([(0.5, True, 1), (0.5, False, 2), (0.5, False, 3)])
    weighed = weigh_cases(said, horizon=3.0)
    assert weighed["weight"].to_list() == pytest.approx([1.0, 0.0, 2.0])


def test_on_one_day_failures_come_before_losses():
    said = cases([(0.5, True, 2), (0.5, False, 2), (0.5, False, 3)])
    weighed = weigh_cases(said, horizon=3.0)
    assert weighed["weight"].to_list() == pytest.approx([1.0, 0.0, 2.0])


def test_parts_of_a_machine_count_by_their_share():
    said = cases([(0.5, True, 1, 0.25), (0.5, False, 2, 0.75)]).with_columns(unit=pl.lit("U"))
    row = one(weigh_cases(said, horizon=2.0))
    assert row["happened"] == pytest.approx(0.25)
    assert (row["machines"], row["cases"]) == (1, 1.0)


def test_share_that_failed_is_kaplan_meiers(drawn):
    from lifelines import KaplanMeierFitter

    weighed = weigh_cases(drawn, horizon=2.0)
    groups = [weighed] if weighed["weight"].sum() > 0 else []
    assert groups
    curve = KaplanMeierFitter().fit(drawn["days"].to_numpy(), drawn["failed"].to_numpy())
    alone = weigh_cases(drawn.with_columns(chance=pl.lit(0.3)), horizon=2.0)  # one group of chance
    survived = float(curve.predict(1.999999))
    assert one(alone)["happened"] == pytest.approx(1.0 - survived, rel=1e-12)


def test_brier_score_beside_scikit_survival(drawn):
    from sksurv.metrics import brier_score
    from sksurv.util import Surv

    lives = Surv.from_arrays(drawn["failed"].to_numpy(), drawn["days"].to_numpy())
    chance = drawn["chance"].to_numpy()
    last = np.nextafter(2.0, 0.0)  # theirs must lie within the times watched
    _, theirs = brier_score(lives, lives, (1.0 - chance)[:, None], [last])
    few = drawn.with_columns(kept="chance", chance=pl.lit(0.3))  # one group for the weights
    weighed = weigh_cases(few, horizon=2.0).with_columns(chance="kept")
    assert one(weighed)["brier"] == pytest.approx(theirs[0], rel=1e-10)


def test_scores_beside_scikit_learn():
    from sklearn.metrics import brier_score_loss, log_loss

    rng = np.random.default_rng(2)
    chance, failed = rng.uniform(0.01, 0.99, 200), rng.random(200) < 0.4
    share = rng.uniform(0.2, 1.0, 200)
    said = cases([(c, bool(f), 1.0 if f else 2.0, s) for c, f, s in zip(chance, failed, share,
                                                                         strict=True)])  # fmt: skip
    row = one(weigh_cases(said, horizon=2.0))
    assert row["brier"] == pytest.approx(brier_score_loss(failed, chance, sample_weight=share))
    assert row["log_score"] == pytest.approx(log_loss(failed, chance, sample_weight=share))
    assert row["log_score_reference"] == pytest.approx(np.log(2.0))


def test_limits_are_wilsons_beside_statsmodels():
    from statsmodels.stats.proportion import proportion_confint

    said = cases([(0.3, True, 1)] * 7 + [(0.3, False, 2)] * 33)
    row = one(weigh_cases(said, horizon=2.0))
    low, high = proportion_confint(7, 40, alpha=0.1, method="wilson")
    assert (row["happened_low"], row["happened_high"]) == pytest.approx((low, high))


def test_the_same_machine_again_and_again_tells_no_more():
    said = cases([(0.3, True, 1)] * 3 + [(0.3, False, 2)] * 9)
    again = pl.concat([said] * 5)
    once, often = (one(weigh_cases(frame, horizon=2.0)) for frame in (said, again))
    for name in ("happened", "happened_low", "happened_high", "gain", "gain_low", "gain_high"):
        assert often[name] == pytest.approx(once[name])
    assert (often["cases"], often["machines"]) == (60.0, 12)


def test_limits_of_a_mean_are_those_of_the_mean_of_machines():
    said = cases([(0.3, False, 2)] * 5).with_columns(cost=pl.Series([1.0, 4.0, 2.0, 2.0, 6.0]))
    row = mean_by_machine(weigh_cases(said, horizon=2.0), ["cost"]).row(0, named=True)
    # Mean 3, standard deviation 2, 1.6449 of the normal law on each side.
    wide = 1.6448536 * 2.0 / np.sqrt(5.0)
    assert (row["cost"], row["cost_high"] - 3.0) == pytest.approx((3.0, wide))
    single = mean_by_machine(weigh_cases(said[:1], horizon=2.0), ["cost"]).row(0, named=True)
    assert (single["cost"], single["cost_low"], single["cost_high"]) == (1.0, None, None)


def test_bins_hold_like_chances_and_equal_chances_stay_together():
    said = cases([(0.1, False, 2)] * 60 + [(0.3, True, 1)] * 20 + [(0.3, False, 2)] * 40)
    bins = calibration(weigh_cases(said, horizon=2.0))
    ends = bins.select("bin", "chance_from", "chance_to", "cases").rows()
    assert ends == [(0, 0.1, 0.1, 60.0), (1, 0.3, 0.3, 60.0)]
    assert bins["happened"].to_list() == pytest.approx([0.0, 1 / 3])
    assert bins["happened_high"][0] > 0.0  # nothing failed, but it might have
    assert calibration_error(bins) == pytest.approx((0.1 + 1 / 30) / 2)


def test_few_cases_are_one_bin():
    said = cases([(p / 50.0, False, 2) for p in range(40)])
    assert weigh_cases(said, horizon=2.0)["bin"].unique().to_list() == [0]


def test_the_lost_of_one_day_are_not_made_up_for_by_another_day():
    day = pl.Series("day", ["a", "a", "b", "b", "b"])
    said = cases([(0.5, True, 1), (0.5, False, 2), (0.5, True, 1), (0.5, False, 1.5),
                  (0.5, False, 1.5)]).with_columns(day)  # fmt: skip
    weighed = weigh_cases(said, horizon=2.0, within=["day"])
    # Of day b nobody who lived was followed to the end: it tells nothing.
    assert weighed["weight"].to_list() == [1.0, 1.0, 0.0, 0.0, 0.0]
    rows = scores(weighed, by=["day"]).rows_by_key("day", named=True, unique=True)
    assert rows["a"]["happened"] == 0.5
    assert [rows["b"][c] for c in ("predicted", "happened", "happened_low", "brier")] == [None] * 4


def test_losses_that_come_with_high_chances_do_not_bend_the_answer():
    """Machines of high chance are often recapped in advance: weights are among like chances."""
    rng = np.random.default_rng(11)
    count = 40_000
    chance = np.where(rng.random(count) < 0.5, 0.1, 0.6)
    fails = rng.exponential(-2.0 / np.log1p(-chance))
    lost = rng.exponential(np.where(chance > 0.5, 1.0, 50.0))
    days, failed = np.minimum(np.minimum(fails, lost), 2.0), (fails <= lost) & (fails <= 2.0)
    said = cases(list(zip(chance.tolist(), failed.tolist(), days.tolist(), strict=True)))
    row = one(weigh_cases(said, horizon=2.0))
    assert row["happened"] == pytest.approx(0.35, abs=4 * np.sqrt(0.25 / 15_000))
    bins = calibration(weigh_cases(said, horizon=2.0))
    assert bins["happened"].to_list() == pytest.approx([0.1, 0.6], abs=0.02)


def test_what_was_called_impossible_has_no_log_score():
    row = one(weigh_cases(cases([(0.0, True, 1), (0.5, False, 2)]), horizon=2.0))
    assert row["log_score"] is None
    assert row["brier"] == pytest.approx((1.0 + 0.25) / 2)
    fine = one(weigh_cases(cases([(1.0, True, 1), (0.0, False, 2)]), horizon=2.0))
    assert (fine["log_score"], fine["brier"]) == (0.0, 0.0)


def test_no_cases():
    weighed = weigh_cases(cases([]), horizon=2.0)
    assert weighed.is_empty()
    assert calibration(weighed).is_empty()
    assert calibration_error(calibration(weighed)) is None


def test_what_cannot_be_is_refused():
    with pytest.raises(BadInput, match="outside 0 to 1"):
        weigh_cases(cases([(1.2, True, 1)]), horizon=2.0)
    with pytest.raises(BadFrame, match="chance"):
        weigh_cases(cases([]).drop("chance"), horizon=2.0)
