from datetime import date

import polars as pl
import pytest

from fleet.charts import draw_expected_failures
from fleet.charts.expected_failures import COUNTED
from fleet.errors import BadFrame, BadInput

STROKES = 0  # layer
STARTS = [date(2026, 5, 11), date(2026, 7, 1), date(2026, 10, 1)]


def counts(*models):
    rows = [(m, day, 1.5 + n, 0.0, 4.0 + n) for m in models for n, day in enumerate(STARTS)]
    return pl.DataFrame(rows, schema=COUNTED, orient="row")


def test_a_dot_and_a_stroke_for_each_quarter_of_each_model():
    spec = draw_expected_failures(counts("A", "B")).to_dict()
    data = spec["datasets"][spec["data"]["name"]]
    assert [row["quarter"] for row in data] == ["2026 Q2", "2026 Q3", "2026 Q4"] * 2
    assert {row["group"] for row in data} == {"A", "B"}
    strokes = spec["layer"][STROKES]["encoding"]
    assert (strokes["y"]["field"], strokes["y2"]["field"]) == ("low", "high")
    for layer in spec["layer"]:
        assert layer["encoding"]["x"]["scale"]["domain"] == ["2026 Q2", "2026 Q3", "2026 Q4"]
        assert layer["encoding"]["xOffset"]["scale"]["domain"] == ["A", "B"]


def test_models_are_told_apart_by_colour_and_shape_with_one_legend():
    spec = draw_expected_failures(counts("A", "B")).to_dict()
    strokes, dots = (layer["encoding"] for layer in spec["layer"])
    assert strokes["color"] == dots["color"]
    assert dots["shape"]["scale"]["domain"] == dots["color"]["scale"]["domain"] == ["A", "B"]
    assert dots["color"]["legend"]["orient"] == "bottom"


def test_all_models_together_have_a_name():
    spec = draw_expected_failures(counts(None)).to_dict()
    data = spec["datasets"][spec["data"]["name"]]
    assert {row["group"] for row in data} == {"all models"}


def test_too_many_models_and_missing_columns():
    with pytest.raises(BadInput, match="at most 12 groups"):
        draw_expected_failures(counts(*[f"M{n}" for n in range(13)]))
    with pytest.raises(BadFrame, match="high"):
        draw_expected_failures(counts("A").drop("high"))
