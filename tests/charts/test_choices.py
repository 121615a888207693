import polars as pl
import pytest

from fleet.charts import draw_choices
from fleet.charts.choices import DRAWN
from fleet.errors import BadFrame

ROWS = [
    ("recap it now", 14.5, 11.3, 25.9, 0.88),
    ("buy a new one", 50.2, 48.2, 56.0, 0.92),
    ("swap the board", None, None, None, None),
]


@pytest.fixture
def options():
    return pl.DataFrame(ROWS, schema=DRAWN, orient="row")


def test_options_keep_their_order_and_those_without_a_cost_are_left_out(options):
    spec = draw_choices(options, currency="XTS").to_dict()
    line, dot = spec["layer"]
    assert dot["encoding"]["y"]["sort"] == ["recap it now", "buy a new one"]
    assert dot["encoding"]["x"]["title"] == "Cost a year of service (XTS)"
    assert line["encoding"]["x2"]["field"] == "cost_high"
    rows = next(iter(spec["datasets"].values()))
    assert [row["cost_per_year"] for row in rows] == [14.5, 50.2]


def test_nothing_to_draw_and_missing_columns(options):
    assert draw_choices(options.clear()).to_dict()["layer"]
    with pytest.raises(BadFrame):
        draw_choices(options.drop("cost_low"))
