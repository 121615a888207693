from datetime import date

import polars as pl
import pytest

from fleet.decisions.say import chance_said, count_said, day_said, horizon_said, years_said


def said(words, value, dtype=pl.Float64):
    frame = pl.DataFrame({"x": [value]}, schema={"x": dtype})
    return frame.select(words(pl.col("x"))).item()


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "less than 1 in 1,000"),
        (0.001, "1 in 1,000"),
        (0.004, "1 in 250"),
        (0.0081, "1 in 120"),
        (0.02, "1 in 50"),
        (0.1, "1 in 10"),
        (0.149, "1 in 7"),
        (0.2, "2 in 10"),
        (0.31, "3 in 10"),
        (0.949, "9 in 10"),
        (0.95, "9 in 10"),
        (0.96, "96 in 100"),
        (1.0, "almost certain"),
        (None, None),
    ],
)
def test_chances(chance, words):
    assert said(chance_said, chance) == words


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0.0, "0 days"),
        (1.2, "1 day"),
        (20.0, "20 days"),
        (47.0, "47 days"),
        (100.0, "3 months"),
        (349.0, "11 months"),
        (350.0, "1 year"),
        (365.25, "1 year"),
        (366.0, "1 year"),
        (3400.0, "9.3 years"),
        (18 * 365.25, "18 years"),
        (None, None),
    ],
)
def test_years(days, words):
    assert said(years_said, days) == words


def test_days_counts_and_horizons():
    assert said(day_said, date(2031, 5, 3), pl.Date) == "3 May 2031"
    assert said(count_said, 23.0) == "23"
    assert said(count_said, 4.52) == "4.5"
    assert [horizon_said(years) for years in (1, 2.0, 0.5)] == ["1 year", "2 years", "0.5 years"]
