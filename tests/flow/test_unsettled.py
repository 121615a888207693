import polars as pl

from fleet.flow.unsettled import unsettled_words
from fleet.frames import CURVE


def points(rows, **columns):
    blank = dict.fromkeys(CURVE.names())
    frame = pl.DataFrame([{**blank, **row} for row in rows], schema=CURVE)
    return frame.with_columns(pl.Series(name, values) for name, values in columns.items())


ROWS = [
    {"age": 2.0, "failures": 1.0, "survival": 0.9},
    {"age": 3.0, "failures": 1.0, "survival": None},
    {"age": 5.5, "failures": 1.0, "survival": None},
    {"age": 9.0, "failures": 0.0, "survival": None},
]


def test_groups_with_open_ages_are_named():
    frame = points([*ROWS, ROWS[0], ROWS[1]], model=["A"] * 4 + ["B"] * 2)
    assert unsettled_words(frame, by=["model"]) == (
        "A: several curves fit equally well between 3 and 5.5 years, so nothing is drawn there.",
        "B: several curves fit equally well at 3 years, so nothing is drawn there.",
    )


def test_settled_curves_need_no_words():
    assert unsettled_words(points(ROWS[:1], model=["A"]), by=["model"]) == ()


def test_all_together():
    (said,) = unsettled_words(points(ROWS), by=[])
    assert said.startswith("All units: ")
