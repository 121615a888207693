from datetime import date

import polars as pl
import pytest

from fleet.charts import as_picture, draw_machine, theme
from fleet.charts.one_machine import _MARKS, _STRETCHES
from fleet.errors import BadFrame
from fleet.flow import machine_lives

AS_OF = date(2026, 6, 30)


@pytest.fixture
def stretches():
    return pl.DataFrame(
        {
            "row": ["1 original", "1 original", "2 replaced"],
            "stretch": ["may have begun", "watched, working", "not heard of"],
            "from": [date(1998, 1, 1), date(2010, 3, 1), date(2020, 5, 2)],
            "to": [date(1998, 12, 31), date(2013, 5, 2), AS_OF],
        }
    )


@pytest.fixture
def marks():
    return pl.DataFrame(
        {
            "row": ["1 original", "2 replaced"],
            "what": ["failed: a capacitor", "last known working"],
            "on": [date(2015, 6, 10), date(2020, 5, 2)],
            "low": [date(2013, 5, 2), date(2020, 5, 2)],
            "high": [date(2015, 6, 10), date(2020, 5, 2)],
        }
    )


def layers(spec):
    return [inner for layer in spec["layer"] for inner in layer.get("layer", [layer])]


def test_a_row_for_each_set_a_line_today_and_a_stroke_where_a_day_is_not_sure(stretches, marks):
    spec = draw_machine(stretches, marks, as_of=AS_OF).to_dict()
    drawn = layers(spec)
    assert [layer["mark"]["type"] for layer in drawn] == [
        "bar", "bar", "bar", "rule", "rule", "point",
    ]  # fmt: skip
    assert {
        tuple(layer["encoding"]["y"]["sort"]) for layer in drawn if "y" in layer["encoding"]
    } == {("1 original", "2 replaced")}
    data = spec["datasets"]
    unsure = [d for d in data.values() if d and "low" in d[0]]
    assert sorted(len(d) for d in unsure) == [1, 2]


def test_the_time_axis_holds_every_day_and_the_day_of_asking(stretches, marks):
    spec = draw_machine(stretches, marks, as_of=AS_OF).to_dict()
    low, high = layers(spec)[0]["encoding"]["x"]["scale"]["domain"]
    assert (low["year"], high["year"]) <= (1998, 2027)
    assert low["year"] < 1998 or low["month"] == "Jan" or low["month"] == 1
    assert high["year"] >= 2026


def test_no_two_stretches_and_no_two_marks_look_alike_without_colour():
    # Colour is never the only difference: thickness and outline of bars, shape of marks of one
    # colour.
    assert len({colour for colour, *_ in _STRETCHES.values()}) == len(_STRETCHES)
    assert len({(size, dash) for _, size, dash in _STRETCHES.values()}) == len(_STRETCHES)
    assert len(set(_MARKS.values())) == len(_MARKS)
    assert max(colour for colour, _ in _MARKS.values()) < len(theme.COLOURS)


def test_every_stretch_and_mark_of_the_flow_can_be_drawn():
    stretches = {
        machine_lives.BEGAN, machine_lives.UNWATCHED, machine_lives.WORKED, machine_lives.QUIET,
        machine_lives.DOWN,
    }  # fmt: skip
    marks = {
        *machine_lives._FAILED.values(), *machine_lives._ENDED.values(),
        "capacitors replaced", "start not known", "last known working", "due",
    }  # fmt: skip
    assert stretches == set(_STRETCHES)
    assert marks == set(_MARKS)


def test_what_nobody_knows_is_hollow_with_a_broken_outline(stretches, marks):
    encoded = layers(draw_machine(stretches, marks, as_of=AS_OF).to_dict())[0]["encoding"]
    inside = dict(
        zip(encoded["fill"]["scale"]["domain"], encoded["fill"]["scale"]["range"], strict=True)
    )
    broken = dict(
        zip(inside, (dash[1] > 0 for dash in encoded["strokeDash"]["scale"]["range"]), strict=True)
    )
    assert inside["may have begun"] == inside["not heard of"] == "transparent"
    assert broken == {"may have begun": True, "watched, working": False, "not heard of": True}
    assert inside["watched, working"] == theme.COLOURS[0]


def test_nothing_to_draw_is_an_empty_chart(stretches, marks):
    spec = draw_machine(stretches.clear(), marks.clear(), as_of=AS_OF).to_dict()
    assert [layer["mark"]["type"] for layer in layers(spec)] == ["rule"]


def test_a_frame_without_its_columns_is_refused(stretches, marks):
    with pytest.raises(BadFrame, match="stretch"):
        draw_machine(stretches.drop("stretch"), marks, as_of=AS_OF)


@pytest.mark.parametrize(("form", "begins"), [("png", b"\x89PNG"), ("svg", b"<svg")])
def test_a_chart_becomes_a_picture(stretches, marks, form, begins):
    chart = draw_machine(stretches, marks, as_of=AS_OF)
    assert as_picture(chart, form).startswith(begins)
