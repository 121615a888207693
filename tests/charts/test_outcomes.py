import polars as pl
import pytest

from fleet.charts import draw_success
from fleet.errors import BadFrame
from fleet.frames import SUCCESS


@pytest.fixture
def models():
    rows = [("B", 30, 27, 0.88, 0.78, 0.95), ("A", 0, 0, 0.8, 0.5, 0.99)]
    return pl.DataFrame(rows, schema=SUCCESS, orient="row")


def test_lines_run_from_limit_to_limit_in_the_order_given(models):
    spec = draw_success(models).to_dict()
    line, mark = spec["layer"]
    assert line["encoding"]["y"]["sort"] == ["B", "A"]
    assert (line["encoding"]["x"]["field"], line["encoding"]["x2"]["field"]) == (
        "success_low",
        "success_high",
    )
    assert mark["encoding"]["x"]["scale"]["domain"] == [0.0, 1.0]
    # chances from 0 to 1, so that 99 and 90 in 100 are not blown up
    assert mark["encoding"]["size"]["field"] == "jobs"


def test_nothing_to_draw_and_a_missing_column(models):
    assert draw_success(models.clear()).to_dict()["layer"]
    with pytest.raises(BadFrame, match="success_low"):
        draw_success(models.drop("success_low"))
