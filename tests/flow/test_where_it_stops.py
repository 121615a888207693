"""Where data stop: each reason for the end of a curve worked by hand."""

import polars as pl
import pytest

from fleet.flow.where_it_stops import curve_stops, paper_stops, rate_stops
from fleet.frames import CURVE

# age, at risk, survival, supported, failures (1 unless given)
BEGINS = [(1.0, 2.0, 1.0, False), (2.0, 9.0, 0.9, True)]


def points(rows, model="KB-1"):
    blank = dict.fromkeys(CURVE.names())
    return pl.DataFrame(
        [
            {
                **blank,
                "age": a,
                "at_risk": n,
                "survival": s,
                "supported": ok,
                "failures": failed[0] if failed else 1.0,
            }
            for a, n, s, ok, *failed in rows
        ],
        schema=CURVE,
    ).select(pl.lit(model).alias("model"), pl.all())


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (
            [*BEGINS, (8.5, 6.0, 0.4, True), (9.0, 2.0, 0.2, False), (11.0, 1.0, 0.0, False)],
            "drawn from 2 to 8.5 years; beyond that at most 2 were still watched, too few to trust",
        ),
        ([(2.0, 9.0, 0.9, True), (4.0, 5.0, 0.0, True)],
         "drawn to 4 years; the last that were still watched had failed by then, and none was "
         "watched for longer"),
        ([(2.0, 9.0, 0.9, True), (4.0, 5.0, 0.0, True), (6.0, 2.0, 0.0, False)],
         "drawn to 4 years; the last that were still watched had failed by then"),
        ([(2.0, 9.0, 0.9, True), (4.0, 5.0, 0.7, True)],
         "drawn to 4 years; that is the last failure that can be placed"),
        ([(2.0, 9.0, 0.9, True), (4.0, 5.0, 0.9, True, 0.0)],
         "drawn to 4 years; none was watched for longer"),
        ([(2.0, 9.0, 0.9, True), (4.0, 9.0, None, False)],
         "drawn to 2 years; beyond that several curves fit equally well"),
        ([(2.0, 2.0, 0.9, False)], "too few were watched at every age to trust any of it"),
    ],
)  # fmt: skip
def test_why_a_curve_ends(rows, said):
    assert curve_stops(points(rows), by=["model"]) == (f"KB-1: {said}.",)


def test_a_curve_that_is_open_everywhere_is_left_to_the_words_on_that():
    assert curve_stops(points([(2.0, 9.0, None, False)]), by=["model"]) == ()


def test_without_a_failure_the_oldest_is_said():
    rows = [(0.0, 12.0, 1.0, True, 0.0), (19.5, 1.0, 1.0, False, 0.0)]
    assert curve_stops(points(rows), by=["model"]) == (
        "KB-1: no failure was seen; the oldest was watched to 19.5 years.",
    )


def test_groups_keep_their_order_and_are_named_as_on_the_chart():
    both = pl.concat([points(BEGINS, "KB-2"), points(BEGINS, None)], how="vertical_relaxed")
    assert [line.split(":")[0] for line in curve_stops(both, by=["model"])] == [
        "KB-2",
        "model unknown",
    ]
    assert curve_stops(points(BEGINS).drop("model"), by=[])[0].startswith("All units: ")
    assert curve_stops(points([]), by=["model"]) == ()


def test_rates_say_where_enough_were_watched_and_how_old_the_oldest_was():
    rates = pl.DataFrame(
        {
            "model": ["A"] * 3 + ["B"] * 2 + ["C"],
            "age": [1.0, 4.0, 9.0, 2.0, 6.0, 3.0],
            "supported": [True, True, False, True, True, False],
        }
    )
    assert rate_stops(rates, by=["model"]) == (
        "A: enough sets were watched from 1 to 4 years; the oldest watched was 9.",
        "B: enough sets were watched from 2 to 6 years; none was watched for longer.",
        "C: too few sets were watched at every age.",
    )


def test_paper_says_the_first_and_the_last_failure():
    dots = pl.DataFrame({"model": ["A", "A"], "age": [2.5, 11.0]})
    assert paper_stops(dots, by=["model"]) == ("A: failures from 2.5 to 11 years.",)
