import polars as pl
import pytest

from fleet.charts import draw_plan_hours, theme
from fleet.charts.plan_hours import ROOM, WORK
from fleet.errors import BadFrame

MONTHS = ["2026-07", "2026-08", "2026-09"]


def work(*models):
    rows = [(month, model, 2.0 + n) for model in models for n, month in enumerate(MONTHS[:2])]
    return pl.DataFrame(rows, schema=WORK, orient="row")


def room(free):
    return pl.DataFrame(
        {"month": MONTHS, "hours": [4.0, 6.0, 0.0], "hours_free": free}, schema=ROOM
    )


def data_of(spec, layer):
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_bars_by_model_and_a_tick_at_what_a_month_has():
    spec = draw_plan_hours(work("A", "B"), room([14.0, 12.0, 18.0])).to_dict()
    bars, ticks, names = spec["layer"]
    assert bars["encoding"]["x"]["scale"]["domain"] == MONTHS
    assert bars["encoding"]["fill"]["scale"]["domain"] == ["A", "B"]
    assert bars["encoding"]["fill"]["scale"]["range"] == [theme.COLOURS[0], "transparent"]
    assert bars["encoding"]["stroke"]["scale"]["range"] == list(theme.COLOURS[:2])
    assert names["encoding"]["text"]["field"] == "group"
    assert sum(row["hours"] for row in data_of(spec, 0)) == 2 * (2.0 + 3.0)
    assert [row["has"] for row in data_of(spec, 1)] == [18.0, 18.0, 18.0]
    assert ticks["encoding"]["x"] == bars["encoding"]["x"]


def test_every_bar_has_its_month_named_in_a_long_plan():
    months = [f"{year}-{month:02}" for year in (2026, 2027, 2028) for month in range(1, 13)]
    rooms = pl.DataFrame(
        {"month": months, "hours": [1.0] * 36, "hours_free": [None] * 36}, schema=ROOM
    )
    axis = draw_plan_hours(work("A"), rooms).to_dict()["layer"][0]["encoding"]["x"]["axis"]
    assert axis["values"] == MONTHS[:2]
    assert axis["labelOverlap"] is False


def test_no_limit_has_no_ticks():
    spec = draw_plan_hours(work("A"), room([None] * 3)).to_dict()
    assert data_of(spec, 1) == []


def test_models_beyond_those_that_can_be_told_apart_are_one():
    spec = draw_plan_hours(work(*[f"M{n:02}" for n in range(15)]), room([None] * 3)).to_dict()
    names = spec["layer"][0]["encoding"]["fill"]["scale"]["domain"]
    assert len(names) == 12
    assert "other models" in names
    assert sum(row["hours"] for row in data_of(spec, 0)) == 15 * 5.0


def test_missing_columns():
    with pytest.raises(BadFrame, match="hours_free"):
        draw_plan_hours(work("A"), room([None] * 3).drop("hours_free"))
