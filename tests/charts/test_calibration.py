import polars as pl
import pytest

from fleet.charts import draw_calibration
from fleet.charts.calibration import CALIBRATION
from fleet.errors import BadFrame

LINE, STROKES, DOTS = range(3)


@pytest.fixture
def bins():
    rows = [
        (0.02, 0.01, 0.0, 0.06, 40.0),
        (0.3, 0.25, 0.1, 0.45, 40.0),
        (0.5, None, None, None, 2.0),
    ]
    return pl.DataFrame(rows, schema=CALIBRATION, orient="row")  # fmt: skip


def test_dots_and_strokes_are_of_a_hundred_machines(bins):
    spec = draw_calibration(bins).to_dict()
    data = spec["datasets"][spec["layer"][DOTS]["data"]["name"]]
    assert [row["predicted"] for row in data] == pytest.approx([2.0, 30.0])
    assert [row["happened_high"] for row in data] == pytest.approx([6.0, 45.0])
    strokes = spec["layer"][STROKES]["encoding"]
    assert (strokes["y"]["field"], strokes["y2"]["field"]) == ("happened_low", "happened_high")


def test_both_axes_are_the_same_so_that_the_line_is_even(bins):
    encoding = draw_calibration(bins).to_dict()["layer"][DOTS]["encoding"]
    ends = encoding["x"]["scale"]["domain"]
    assert ends == encoding["y"]["scale"]["domain"]
    assert ends[0] == 0
    assert 45.0 < ends[1] <= 100.0


def test_nothing_to_draw_and_missing_columns(bins):
    assert draw_calibration(bins.clear()).to_dict()["layer"]
    with pytest.raises(BadFrame, match="happened_low"):
        draw_calibration(bins.drop("happened_low"))
