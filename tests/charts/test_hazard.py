import polars as pl
import pytest

from fleet.charts import draw_hazard
from fleet.errors import BadFrame

BAND, FAINT, LINE, MARK = range(4)


def rows(chart, layer):
    spec = chart.to_dict()
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_rates_are_drawn_per_hundred_sets_and_year(rates):
    chart = draw_hazard(rates, by=["model"])
    assert [r["hazard"] for r in rows(chart, LINE)] == pytest.approx([0, 1, 4, 9])
    title = chart.to_dict()["layer"][LINE]["encoding"]["y"]["title"]
    assert "a year per 100 sets" in title


def test_axis_does_not_follow_the_limits_out_of_sight(rates):
    wild = rates.with_columns(hazard_high=pl.col("hazard") * 1_000)
    top = draw_hazard(wild).to_dict()["layer"][LINE]["encoding"]["y"]["scale"]["domain"][1]
    assert 9 < top < 30


def test_dotted_where_unsupported_and_no_band_there(rates):
    chart = draw_hazard(rates, by=["model"])
    assert [r["age"] for r in rows(chart, FAINT)] == [12, 16]
    assert max(r["age"] for r in rows(chart, BAND)) == 12


def test_no_rates_make_an_empty_chart(rates):
    assert draw_hazard(rates.clear(), by=["model"]).to_dict()["layer"]


def test_a_frame_without_rates_is_refused(rates):
    with pytest.raises(BadFrame, match="hazard_low"):
        draw_hazard(rates.drop("hazard_low"))
