"""Calendar age, powered hours, or a mix: identities, simulated truth, plain refusals."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame, BadInput
from fleet.fits import fit_weibull
from fleet.fits.clock import which_clock


def _simulated(seed, share, lives=300):
    """Lives in years that follow (1 - share) * age + share * hours / 1500 a year."""
    rng = np.random.default_rng(seed)
    use = 1500.0 * np.exp(0.7 * rng.standard_normal(lives))
    rate = (1.0 - share) + share * use / 1500.0
    age, end = 12.0 * rng.weibull(3.0, lives) / rate, rng.uniform(5.0, 20.0, lives)
    entry = np.where(rng.random(lives) < 0.4, 0.5 * end * rng.random(lives), 0.0)
    table = pl.DataFrame(
        {
            "entry": entry,
            "low": np.minimum(age, end),
            "high": np.where(age <= end, age, np.nan),
            "known_by": pl.Series([None] * lives, dtype=pl.Float64),
            "count": 1.0,
            "use": use,
        }
    )
    return table.with_columns(pl.col("high").fill_nan(None)).filter(pl.Series(age > entry))


def _rows(found):
    return {row["clock"]: row for row in found.clocks.iter_rows(named=True)}


def test_share_0_is_the_plain_fit_and_share_1_the_fit_of_hours():
    lives = _simulated(1, 0.5)
    found = which_clock(lives, "use")
    rows = _rows(found)
    plain = fit_weibull(lives)["log_likelihood"].item()
    assert rows["age"]["log_likelihood"] == pytest.approx(plain, abs=1e-9)
    hours = pl.col("use") / found.typical
    by_hours = lives.with_columns(pl.col("entry", "low", "high") * hours)
    exact = lives.filter(pl.col("high").is_not_null())
    moved = exact.select((hours.log() * pl.col("count")).sum()).item()
    want = fit_weibull(by_hours)["log_likelihood"].item() + moved
    assert rows["hours"]["log_likelihood"] == pytest.approx(want, abs=1e-9)


def test_the_same_use_for_all_changes_nothing():
    # but for one life whose use differs, or there would be nothing to compare
    lives = _simulated(2, 0.0).with_columns(use=pl.lit(700.0))
    odd = lives.filter(pl.col("high").is_null())[:1].with_columns(
        entry=pl.lit(0.0), low=pl.lit(1e-9), use=pl.lit(900.0)
    )
    rows = _rows(which_clock(pl.concat([lives, odd]), "use"))
    assert rows["hours"]["log_likelihood"] == pytest.approx(rows["age"]["log_likelihood"], abs=1e-6)


def test_the_unit_of_hours_does_not_matter():
    lives = _simulated(3, 0.4)
    one = which_clock(lives, "use")
    other = which_clock(lives.with_columns(use=pl.col("use") / 8766.0), "use")
    assert other.clocks["log_likelihood"].to_list() == pytest.approx(
        one.clocks["log_likelihood"].to_list(), abs=1e-7
    )
    assert other.typical == pytest.approx(one.typical / 8766.0)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_the_true_clock_is_found(share):
    found = which_clock(_simulated(7, share, lives=1500), "use")
    mix = _rows(found)["mix"]
    # shares are of wear at the typical use of those that failed, the truth is at 1500 hours
    turned = share * found.typical / 1500.0
    truth = turned / (1.0 - share + turned)
    assert mix["share_low"] - 0.02 <= truth <= mix["share_high"] + 0.02
    assert mix["share_high"] - mix["share_low"] < 0.2
    assert (mix["share_low"] == 0.0) == (share == 0.0)
    assert (mix["share_high"] == 1.0) == (share == 1.0)


def test_limits_lie_where_the_likelihood_has_fallen():
    lives = _simulated(5, 0.5, lives=120)
    found = which_clock(lives, "use")
    mix = _rows(found)["mix"]
    for share in (mix["share_low"], mix["share_high"]):
        rate = (1.0 - share) + share * pl.col("use") / found.typical
        moved = lives.filter(pl.col("high").is_not_null()).select(rate.log().sum()).item()
        other = lives.with_columns(pl.col("entry", "low", "high") * rate)
        value = fit_weibull(other)["log_likelihood"].item() + moved
        assert mix["log_likelihood"] - value == pytest.approx(0.5 * 3.841458820694124, abs=1e-5)


def test_groups_have_lives_of_their_own():
    lives = _simulated(4, 0.5)
    ages = pl.col("entry", "low", "high")
    both = pl.concat(
        [lives.with_columns(g=pl.lit("a")), lives.with_columns(ages * 4.0, g=pl.lit("b"))]
    )
    alone, apart = which_clock(lives, "use"), which_clock(both, "use", by=["g"])
    assert _rows(apart)["mix"]["share_hours"] == pytest.approx(
        _rows(alone)["mix"]["share_hours"], abs=2e-4
    )
    # twice the data: the difference between the clocks doubles
    gain = [
        r["hours"]["log_likelihood"] - r["age"]["log_likelihood"]
        for r in map(_rows, (alone, apart))
    ]
    assert gain[1] == pytest.approx(2.0 * gain[0], abs=1e-6)


def test_a_group_of_two_failures_does_not_take_over():
    # failed at 4 years of 1,000 and 5 years of 500 hours: the same age on some mix of the clocks
    lives = _simulated(4, 0.0).with_columns(g=pl.lit("a"))
    two = lives.filter(pl.col("high").is_not_null())[:2].with_columns(
        entry=pl.lit(0.0), low=pl.Series([4.0, 5.0]), high=pl.Series([4.0, 5.0])
    )
    two = two.with_columns(use=pl.Series([1000.0, 500.0]), g=pl.lit("b"))
    mix = _rows(which_clock(pl.concat([lives, two]), "use", by=["g"]))["mix"]
    assert mix["share_hours"] < 0.1
    assert mix["share_high"] < 0.2


def test_lives_without_hours_are_left_out_and_counted():
    lives = _simulated(6, 0.5, lives=60)
    blank = lives[:5].with_columns(use=pl.Series([None, 0.0, None, None, 0.0], dtype=pl.Float64))
    found = which_clock(pl.concat([lives, blank]), "use")
    assert found.missing == 5.0
    assert found.clocks.equals(which_clock(lives, "use").clocks)


def test_what_cannot_be_told_is_refused(make_lives):
    lives = make_lives([(0.0, a, a) for a in (2.0, 3.0, 4.0)] + [(0.0, 6.0, None)])
    with pytest.raises(BadFrame, match="hours"):
        which_clock(lives, "use")
    with pytest.raises(BadInput, match="same for every life"):
        which_clock(lives.with_columns(use=pl.lit(500.0)), "use")
    good = lives.filter(pl.col("high").is_null()).with_columns(use=pl.lit(500.0))
    with pytest.raises(BadInput, match="failed"):
        which_clock(good, "use")
    lone = make_lives([(0.0, 4.0, 4.0), (0.0, 2.0, None)])
    with pytest.raises(BadInput, match="no bound"):
        which_clock(lone.with_columns(use=pl.Series([500.0, 600.0])), "use")
