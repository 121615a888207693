import json

import polars as pl
import pytest

from fleet.charts.weibull_paper import PAPER, draw_weibull_paper
from fleet.errors import BadFrame, BadInput

BAND, LINE, WHISKERS, DOTS = range(4)


@pytest.fixture
def paper():
    rows = [("KB-1", 2.0, 0.01, 0.001, 0.1, True), ("KB-1", 6.0, 0.3, 0.2, None, True)]
    rows += [("KB-2", 3.0, 0.05, 0.01, 0.2, True), ("KB-2", 9.0, 0.9, 0.6, 0.99, False)]
    return pl.DataFrame(rows, schema={"model": pl.String, **PAPER}, orient="row")


def rows(chart, layer):
    spec = chart.to_dict()
    return spec["datasets"][spec["layer"][layer]["data"]["name"]]


def test_heights_make_weibull_lives_straight(paper):
    dots = rows(draw_weibull_paper(paper, paper, by=["model"]), DOTS)
    # log(-log(1 - 0.01)) and log(-log(1 - 0.3))
    assert [d["at"] for d in dots[:2]] == pytest.approx([-4.600149, -1.030930], abs=1e-6)


def test_limits_that_are_not_there_are_not_drawn(paper):
    chart = draw_weibull_paper(paper, paper, by=["model"])
    assert len(rows(chart, DOTS)) == 4
    assert len(rows(chart, WHISKERS)) == len(rows(chart, BAND)) == 3


def test_axes_are_in_words_a_repairer_reads(paper):
    encoding = draw_weibull_paper(paper, paper, by=["model"]).to_dict()["layer"][LINE]["encoding"]
    assert encoding["y"]["title"] == "Share failed"
    assert "(years)" in encoding["x"]["title"]
    assert encoding["x"]["scale"]["type"] == "log"
    labels = encoding["y"]["axis"]["labelExpr"]
    assert all(f"'{share} %'" in labels for share in (1, 2, 5, 10, 20, 50, 90, 99))


def test_one_legend_names_the_groups(paper):
    chart = draw_weibull_paper(paper, paper, by=["model"])
    first = chart.to_dict()["layer"][BAND]["encoding"]["color"]
    assert first["legend"] is not None
    assert first["scale"]["domain"] == ["KB-1", "KB-2"]


def test_no_line_is_no_error(paper):
    spec = draw_weibull_paper(paper, paper.clear(), by=["model"]).to_dict()
    assert json.dumps(spec)


def test_too_many_groups_and_missing_columns_are_refused(paper):
    many = pl.concat([paper.with_columns(model=pl.lit(f"KB-{i}")) for i in range(13)])
    with pytest.raises(BadInput, match="at most 12 groups"):
        draw_weibull_paper(many, many, by=["model"])
    with pytest.raises(BadFrame):
        draw_weibull_paper(paper.drop("share_low"), paper, by=["model"])
