import polars as pl
import pytest

from fleet.charts import draw_shares, draw_suspects
from fleet.charts.suspects import BESIDE, SHARES
from fleet.errors import BadFrame

SAME, LINES, MARKS = range(3)


@pytest.fixture
def batches():
    rows = [
        ("B1", "M", 0.5, 0.3, 0.8, "shorter life", 12.0),
        ("B2", "M", 1.0, 0.9, 1.1, "like the others", 30.0),
        ("B3", "M", 1.2, 0.001, 400.0, "too few failures", 1.0),
        ("B4", "M", None, None, None, "cannot tell", 0.0),
    ]
    return pl.DataFrame(rows, schema=BESIDE, orient="row")


def _rows(chart, layer):
    spec = chart.to_dict()
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_lines_run_from_limit_to_limit_and_stay_on_the_chart(batches):
    chart = draw_suspects(batches)
    lines = {row["group"]: (row["from_"], row["to"]) for row in _rows(chart, LINES)}
    assert lines["M B1"] == (0.3, 0.8)
    assert lines["M B3"] == (0.05, 20.0)
    assert [row["group"] for row in _rows(chart, MARKS)] == ["M B1", "M B2", "M B3"]


def test_order_is_kept_and_half_is_as_far_as_twice(batches):
    encoding = draw_suspects(batches).to_dict()["layer"][MARKS]["encoding"]
    assert encoding["y"]["sort"] == ["M B1", "M B2", "M B3"]
    assert encoding["x"]["scale"]["type"] == "log"
    # Colour is never alone: the shape changes with the verdict.
    assert encoding["shape"]["field"] == encoding["color"]["field"] == "verdict"


def test_no_more_rows_than_can_be_read(batches):
    many = pl.concat([batches.head(1)] * 90)
    assert len(_rows(draw_suspects(many), MARKS)) == 40


def test_shares_fill_the_bar_and_all_models_come_first():
    rows = [
        ("M", "batch", 0.3), ("M", "chance", 0.6),
        (None, "model", 0.1), (None, "batch", 0.3), (None, "chance", 0.5),
    ]  # fmt: skip
    spec = draw_shares(pl.DataFrame(rows, schema=SHARES, orient="row")).to_dict()
    assert spec["encoding"]["y"]["sort"] == ["all models", "M"]
    bars = spec["datasets"][spec["data"]["name"]]
    whole = {
        name: sum(b["share"] for b in bars if b["model"] == name) for name in ("M", "all models")
    }
    assert whole == pytest.approx({"M": 1.0, "all models": 1.0})
    assert {b["piece"] for b in bars} == {"between models", "between batches", "within a batch"}


def test_nothing_to_draw_and_missing_columns(batches):
    assert draw_suspects(batches.clear()).to_dict()["layer"]
    with pytest.raises(BadFrame, match="verdict"):
        draw_suspects(batches.drop("verdict"))
    with pytest.raises(BadFrame, match="share"):
        draw_shares(pl.DataFrame({"model": ["M"], "part_of_life": ["batch"]}))
