import polars as pl
import pytest

from fleet.charts import draw_repeated
from fleet.charts.repeated import REPEATED
from fleet.errors import BadFrame, BadInput

BAND, FAINT, LINE, MARK = range(4)


@pytest.fixture
def means():
    rows = [
        ("KB-1", 0.0, 20.0, 0.0, None, None, True),
        ("KB-1", 4.0, 20.0, 0.05, 0.01, 0.35, True),
        ("KB-1", 9.0, 10.0, 0.25, 0.1, 9.0, True),
        ("KB-1", 12.0, 2.0, 0.75, 0.2, 2.8, False),
        ("KB-2", 3.0, 8.0, 0.125, None, None, True),
    ]
    return pl.DataFrame(rows, schema={"model": pl.String, **REPEATED}, orient="row")


def rows(chart, layer):
    spec = chart.to_dict()
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_steps_go_as_far_as_enough_machines_were_watched(means):
    chart = draw_repeated(means, by=["model"])
    line = [(r["group"], r["age"]) for r in rows(chart, LINE)]
    assert line == [("KB-1", 0), ("KB-1", 4), ("KB-1", 9), ("KB-2", 3)]
    assert [r["age"] for r in rows(chart, FAINT)] == [9, 12]
    assert chart.to_dict()["layer"][LINE]["mark"]["interpolate"] == "step-after"


def test_a_wide_limit_does_not_flatten_the_steps(means):
    encoding = draw_repeated(means, by=["model"]).to_dict()["layer"][LINE]["encoding"]
    assert encoding["y"]["scale"]["domain"] == [0, 1.0]
    assert encoding["x"]["title"] == "Age of the machine (years)"


def test_no_points_and_missing_columns(means):
    assert draw_repeated(means.clear(), by=["model"]).to_dict()["layer"]
    with pytest.raises(BadFrame, match="at_risk"):
        draw_repeated(means.drop("at_risk"), by=["model"])


def test_too_many_groups_are_refused(means):
    many = pl.concat([means.with_columns(model=pl.lit(f"KB-{i}")) for i in range(13)])
    with pytest.raises(BadInput, match="at most 12 groups"):
        draw_repeated(many, by=["model"])
