import polars as pl
import pytest

from fleet.charts import draw_survival, theme
from fleet.errors import BadFrame

BAND, FAINT, LINE, MARK = range(4)


def rows(chart, layer):
    spec = chart.to_dict()
    name = spec["layer"][layer]["data"]["name"]
    return spec["datasets"][name]


def test_curve_begins_with_all_good_at_birth(two_curves):
    line = rows(draw_survival(two_curves, by=["model"]), LINE)
    births = [r for r in line if r["age"] == 0]
    assert [r["group"] for r in births] == ["KB-1", "KB-2"]
    assert all(r["survival"] == 1 for r in births)


def test_full_line_stops_where_support_ends_and_the_dotted_one_takes_over(two_curves):
    chart = draw_survival(two_curves, by=["model"])
    assert max(r["age"] for r in rows(chart, LINE) if r["group"] == "KB-1") == 11
    assert [(r["group"], r["age"]) for r in rows(chart, FAINT)] == [("KB-1", 11), ("KB-1", 15)]
    assert max(r["age"] for r in rows(chart, BAND)) == 12  # KB-2, all supported


def test_limits_and_steps_are_drawn(two_curves):
    spec = draw_survival(two_curves, by=["model"]).to_dict()
    band, line = spec["layer"][BAND], spec["layer"][LINE]
    assert band["mark"]["type"] == "area"
    assert band["mark"]["interpolate"] == line["mark"]["interpolate"] == "step-after"
    assert band["encoding"]["y"]["field"] == "survival_low"
    assert band["encoding"]["y2"]["field"] == "survival_high"


def test_axes_say_what_they_are_with_units(two_curves):
    encoding = draw_survival(two_curves, by=["model"]).to_dict()["layer"][LINE]["encoding"]
    assert "(years)" in encoding["x"]["title"]
    assert "not yet failed" in encoding["y"]["title"]
    assert encoding["y"]["axis"]["format"] == "%"


def test_groups_differ_by_dash_and_shape_as_well_as_colour(two_curves):
    spec = draw_survival(two_curves, by=["model"]).to_dict()
    dashes = spec["layer"][LINE]["encoding"]["strokeDash"]["scale"]["range"]
    shapes = spec["layer"][MARK]["encoding"]["shape"]["scale"]["range"]
    assert len({tuple(d) for d in dashes}) == len(set(shapes)) == 2


def test_a_large_curve_is_thinned_and_the_callers_frame_is_left_alone(two_curves):
    n = 9_000
    one = two_curves.head(1)
    large = pl.concat([one] * n).with_columns(
        age=pl.int_range(1, n + 1).cast(pl.Float64) / 400,
        survival=1 - pl.int_range(1, n + 1).cast(pl.Float64) / n,
    )
    before = large.clone()
    chart = draw_survival(large, by=["model"])
    assert len(rows(chart, LINE)) < 1_500
    assert large.equals(before)


def test_a_curve_without_supported_points_is_all_dotted(two_curves):
    doubtful = two_curves.filter(model="KB-1").with_columns(supported=pl.lit(False))
    chart = draw_survival(doubtful)
    assert [r["age"] for r in rows(chart, FAINT)][:2] == [0, 5]


def test_no_points_make_an_empty_chart(two_curves):
    assert draw_survival(two_curves.clear(), by=["model"]).to_dict()["layer"]


def test_a_frame_that_is_no_curve_is_refused(two_curves):
    with pytest.raises(BadFrame, match="survival"):
        draw_survival(two_curves.drop("survival"))


def test_the_legend_shows_the_dashes_of_the_lines_and_says_what_is_not_drawn(two_curves):
    gone = two_curves["model"].unique().sort()[0]
    open_everywhere = two_curves.with_columns(
        pl.when(pl.col("model") != gone).then(c).alias(c)
        for c in ("survival", "survival_low", "survival_high")
    )
    layers = draw_survival(open_everywhere, by=["model"]).to_dict()["layer"]
    lines = layers[LINE]["encoding"]
    assert lines["strokeDash"]["legend"] == lines["color"]["legend"]
    assert lines["color"]["legend"]["symbolType"] == "stroke"
    assert f'indexof(["{gone}"], datum.label)' in lines["color"]["legend"]["labelExpr"]
    assert layers[MARK]["encoding"]["shape"]["legend"] is None


def test_bands_of_more_than_two_are_outlines(two_curves):
    third = two_curves.filter(model=two_curves["model"][0]).with_columns(model=pl.lit("third"))
    two, three = (
        draw_survival(frame, by=["model"]).to_dict()["layer"][BAND]
        for frame in (two_curves, pl.concat([two_curves, third]))
    )
    assert three["mark"]["fillOpacity"] < two["mark"]["fillOpacity"] / 2
    assert three["encoding"]["stroke"]["scale"]["range"] == list(theme.COLOURS[:3])
