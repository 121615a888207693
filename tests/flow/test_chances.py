import math
from dataclasses import replace

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.chances import chances, chances_words
from fleet.flow.table import Table
from fleet.frames import LIFE

ROW = {
    "exists": True,
    "reason": None,
    "failures": 12.0,
    "seen_from": 0.0,
    "seen_to": 30.0,
    "curve_fails": None,
    "good": 0.58,
    "good_low": 0.35,
    "good_high": None,
    "fails": 0.004,
    "fails_low": None,
    "fails_high": 0.995,
}


def table(lows, highs, **columns):
    lives = pl.DataFrame(
        {
            "entry": [0.0] * len(lows),
            "low": lows,
            "high": highs,
            "known_by": [None] * len(lows),
            "count": [1.0] * len(lows),
        },
        schema=LIFE,
    )
    lives = lives.with_columns(pl.Series(name, values) for name, values in columns.items())
    return Table(lives=lives, age_unit="years")


@pytest.fixture
def two_models():
    ages = [4.0, 6.0, 7.0, 9.0, 10.0, 12.0]
    return table([*ages, 5.0, 5.0], [*ages[:5], None, None, None], model=["A"] * 6 + ["B"] * 2)


def test_chances_are_those_of_the_fit(two_models):
    from fleet.flow.answers import weibull

    fit = weibull(two_models, by=["model"]).frame.filter(model="A").row(0, named=True)
    got = chances(two_models, reach=8.0, within=2.0, by=["model"]).frame
    row = got.filter(model="A").row(0, named=True)
    b, scale = fit["shape"], fit["scale"]
    assert row["good"] == pytest.approx(math.exp(-((8 / scale) ** b)), rel=1e-6)
    gone = 1 - math.exp((8 / scale) ** b - (10 / scale) ** b)
    assert row["fails"] == pytest.approx(gone, rel=1e-6)
    assert 0 <= row["good_low"] < row["good"] < row["good_high"] <= 1
    assert 0 <= row["fails_low"] < row["fails"] < row["fails_high"] <= 1
    assert row["seen_to"] == 12.0


def test_each_group_has_a_sentence_also_without_an_estimate(two_models):
    a, b = chances(two_models, reach=8.0, within=5.0, by=["model"]).notes
    assert a.startswith("A: of 100 sets ")
    assert "still good at 8 years" in a
    assert "fail within the next 5 years" in a
    assert "rests on 5 failures: few" in a
    assert "None was watched beyond 12 years" in a
    assert b.startswith("B: no chance can be given: ")


def test_all_lives_together_and_other_units_of_age(two_models):
    days = two_models.lives.with_columns(pl.col("low", "high") * 1000.0)
    years = chances(two_models, reach=8.0, within=1.0, by=[])
    other = chances(
        replace(two_models, lives=days, age_unit="days"), reach=8000.0, within=1000.0, by=[]
    )
    columns = ["good", "good_low", "good_high", "fails", "fails_low", "fails_high"]
    assert other.frame.select(columns).row(0) == pytest.approx(
        years.frame.select(columns).row(0), rel=1e-5
    )
    assert years.notes[0].startswith("All lives: ")
    assert "within the next year (" in years.notes[0]


def test_words_keep_off_certainty_and_name_open_sides():
    said = chances_words(ROW, reach=10.0, within=5.0, unit="years")
    assert said == (
        "of 100 sets 58 are still good at 10 years (35 or more, no upper limit); of 100 that "
        "are, fewer than 1 fail within the next 5 years (more than 99 or fewer, no lower limit)."
    )


@pytest.mark.parametrize(("reach", "within"), [(0.0, 5.0), (5.0, 0.0), (math.inf, 1.0)])
def test_no_span_is_refused(two_models, reach, within):
    with pytest.raises(BadInput, match="no span"):
        chances(two_models, reach=reach, within=within, by=["model"])


def test_a_curve_that_contradicts_the_fit_and_ages_nobody_saw_are_said():
    row = ROW | {"curve_fails": 0.41, "fails": 0.08, "fails_low": 0.06, "fails_high": 0.12}
    said = chances_words(row, reach=16.0, within=2.0, unit="years")
    assert "says 41 of 100 instead" in said
    late = chances_words(ROW | {"seen_from": 12.0}, reach=10.0, within=5.0, unit="years")
    assert "None was watched below 12 years" in late
