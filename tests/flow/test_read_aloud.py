import math

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions.say import chance_said
from fleet.flow.read_aloud import chance_words, count_words, fit_words, median_words, number


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.3, "3 in 10"),
        (0.5, "5 in 10"),
        (0.02, "1 in 50"),
        (0.0123, "1 in 81"),
        (0.00123, "1 in 810"),
        (0.05, "1 in 20"),
        (0.0, "less than 1 in 1,000"),
        (0.97, "97 in 100"),
        (1.0, "almost certain"),
        (None, "unknown"),
    ],
)
def test_chances_are_said_as_people_say_them(chance, words):
    assert chance_words(chance) == words


@given(st.floats(0, 1))
def test_a_spoken_chance_is_near_the_chance(chance):
    words = chance_words(chance)
    if " in " in words and not words.startswith("less"):
        top, bottom = (float(part.replace(",", "")) for part in words.split(" in "))
        assert abs(top / bottom - chance) <= max(0.051, 0.06 * chance)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0, "0"), (12345.6, "12,346"), (3.14159, "3.14"), (0.01234, "0.0123"), (10, "10")],
)
def test_numbers_are_rounded_to_three_figures(value, text):
    assert number(value) == text


def test_numbers_nobody_would_write_out_are_said_in_words():
    assert number(1e-60) == "less than 0.001"
    assert number(3e12) == "more than a thousand million"


@given(st.one_of(st.none(), st.floats()))
def test_no_number_is_ever_said_as_inf_or_nan(value):
    said = number(value)
    assert "inf" not in said
    assert "nan" not in said
    if value is None or not math.isfinite(value):
        assert said == "unknown"


def _curve(survival, low, high):
    ages = [float(i + 1) for i in range(len(survival))]
    return pl.DataFrame(
        {
            "age": ages,
            "survival": survival,
            "survival_low": low,
            "survival_high": high,
            "supported": [True] * len(ages),
        }
    )


def test_the_median_is_said_with_its_limits():
    points = _curve([0.9, 0.6, 0.4], [0.7, 0.4, 0.2], [0.97, 0.8, 0.45])
    assert median_words(points) == (
        "of those that reached age 1, half have failed by 3 years (between 2 and 3 years)"
    )


def test_a_median_not_reached_is_said_in_words():
    points = _curve([0.9, 0.7], [0.7, 0.5], [0.97, 0.9])
    assert median_words(points) == (
        "of those that reached age 1, the age by which half have failed is not reached: 70 of "
        "100 still work at 2 years, and beyond that too few were watched"
    )


FIT = {
    "lives": 40.0,
    "failures": 12.0,
    "exists": True,
    "reason": None,
    "shape": 3.2,
    "shape_low": 1.9,
    "shape_high": 5.0,
    "scale": 17.0,
    "b10": 8.41,
    "b10_low": 6.2,
    "b10_high": None,
}


def test_a_fit_says_whether_age_matters():
    assert "they wear out" in fit_words(FIT)
    assert "no basis for acting on age" in fit_words({**FIT, "shape_low": 0.8})
    assert "fail early" in fit_words({**FIT, "shape_low": 0.2, "shape_high": 0.7})
    assert "at least 6.2, no upper limit" in fit_words(FIT)


def test_a_fit_that_does_not_exist_says_why():
    words = fit_words({**FIT, "exists": False, "reason": "no failure yet"})
    assert words == "12 failures among 40 lives: no failure yet."


def test_a_chance_is_said_alike_in_sentences_and_in_tables():
    """Two ways to say one chance would be two numbers for a reader."""
    chances = [0.0, 1e-6, *(n / 2000 for n in range(1, 2001)), 0.00123, 0.0081, 0.1499999]
    said = pl.DataFrame({"x": chances}).select(chance_said(pl.col("x"))).to_series()
    assert said.to_list() == [chance_words(chance) for chance in chances]


def test_a_fit_says_what_is_the_fitted_curves():
    assert "By the fitted Weibull curve one in ten has failed by 8.41 years" in fit_words(FIT)


@pytest.mark.parametrize(
    ("count", "said"),
    [(45.0, "45"), (45.0 - 1e-9, "45"), (45.3, "about 45"), (1_234.6, "about 1,235"),
     (0.3, "less than half a"), (0.0, "0")],
)  # fmt: skip
def test_counts_in_part_are_said_as_about_so_many(count, said):
    assert count_words(count) == said


def test_a_fit_of_failures_that_count_in_part():
    words = fit_words({**FIT, "failures": 11.7, "lives": 39.6})
    assert words.startswith("about 12 failures among about 40 lives; ")
