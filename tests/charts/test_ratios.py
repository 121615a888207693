import polars as pl
import pytest

from fleet.charts import draw_ratios
from fleet.charts.ratios import RATIOS
from fleet.errors import BadFrame

SAME, WHOLE, OPEN_LOW, OPEN_HIGH, DOTS = range(5)


@pytest.fixture
def ratios():
    rows = [
        ("A", 1.0, None, None),
        ("B", 0.8, 0.6, 1.1),
        ("C", None, 1.5, None),
        ("D", 2.0, 1.2, 5_000.0),
        ("E", None, None, None),
    ]
    return pl.DataFrame(rows, schema={"batch": pl.String, **RATIOS}, orient="row")


def rows(chart, layer):
    spec = chart.to_dict()
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_dots_stand_where_there_is_an_estimate(ratios):
    dots = rows(draw_ratios(ratios, by=["batch"]), DOTS)
    assert [(d["group"], d["ratio"]) for d in dots] == [("A", 1), ("B", 0.8), ("D", 2)]


def test_lines_go_from_limit_to_limit_and_open_sides_are_dotted(ratios):
    chart = draw_ratios(ratios, by=["batch"])
    lines = {r["group"]: (r["middle_low"], r["middle_high"]) for r in rows(chart, WHOLE)}
    assert set(lines) == {"B", "C", "D"}
    assert lines["B"] == (0.6, 1.1)
    assert lines["C"] == (1.5, 1.5)
    assert [r["group"] for r in rows(chart, OPEN_HIGH)] == ["C"]
    assert rows(chart, OPEN_HIGH)[0]["high_edge"] == 100
    assert lines["D"] == (1.2, 100)
    # a layer without rows: nothing is open below
    assert rows(chart, OPEN_LOW) == []


def test_groups_keep_their_order_and_the_axis_says_whom_they_are_beside(ratios):
    encoding = draw_ratios(ratios, by=["batch"]).to_dict()["layer"][DOTS]["encoding"]
    assert encoding["y"]["sort"] == ["A", "B", "C", "D", "E"]
    assert encoding["x"]["title"] == "Times as long as A"
    assert encoding["x"]["scale"]["type"] == "log"


def test_close_ratios_get_fine_marks(ratios):
    axis = draw_ratios(ratios.head(2), by=["batch"]).to_dict()["layer"][DOTS]["encoding"]["x"]
    assert axis["scale"]["domain"] == [0.5, 2.0]
    assert 1.5 in axis["axis"]["values"]


def test_no_groups_and_missing_columns(ratios):
    assert draw_ratios(ratios.clear(), by=["batch"]).to_dict()["layer"]
    with pytest.raises(BadFrame, match="ratio_low"):
        draw_ratios(ratios.drop("ratio_low"), by=["batch"])


def test_layers_without_marks_are_hidden_from_screen_readers(ratios):
    closed = ratios.filter(pl.col("batch").is_in(["A", "B"]))
    marks = [layer["mark"] for layer in draw_ratios(closed, by=["batch"]).to_dict()["layer"]]
    assert [marks[i]["aria"] for i in (WHOLE, OPEN_LOW, OPEN_HIGH)] == [True, False, False]
