"""The lives of one machine on a time line: each set of capacitors a row."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_machine` reads.
LIVED = pl.Schema({"row": pl.String(), "stretch": pl.String(), "from": pl.Date(), "to": pl.Date()})
MARKED = pl.Schema(
    {
        "row": pl.String(),
        "what": pl.String(),
        "on": pl.Date(),
        "low": pl.Date(),
        "high": pl.Date(),
    }
)

# Stretches with a colour, a thickness in pixels and the dash of a hollow bar each (None: filled),
# and marks with a colour and a shape, so that none is told from another by colour alone. What is
# known stands filled; what nobody watched is hollow, what nobody knows has a broken outline.
_STRETCHES: Mapping[str, tuple[int, int, tuple[int, int] | None]] = {
    "may have begun": (5, 8, (2, 2)),
    "before it was watched": (4, 12, (1, 0)),
    "watched, working": (0, 18, None),
    "not heard of": (3, 12, (5, 3)),
    "failed, not running": (1, 4, None),
}
_MARKS: Mapping[str, tuple[int, str]] = {
    "start not known": (5, "triangle-left"),
    "failed: a capacitor": (1, "cross"),
    "failed: something else": (5, "cross"),
    "failed: cause unknown": (4, "cross"),
    "capacitors replaced": (2, "triangle-up"),
    "board swapped": (2, "square"),
    "retired": (5, "triangle-down"),
    "last known working": (0, "circle"),
    "due": (3, "diamond"),
}
_ROW = 44
_AXES = 210
_TODAY = theme.COLOURS[-1]


def draw_machine(stretches: pl.DataFrame, marks: pl.DataFrame, *, as_of: date) -> alt.LayerChart:
    """Bars for the stretches of each set's time (LIVED), marks for what happened (MARKED), and a
    dashed line on the day the records are read as of.

    Rows stand in the order they come. A mark whose day is not sure has a stroke over the days it
    may have been. Raises BadFrame for frames without their columns.
    """
    check_frame(stretches, LIVED, name="stretches")
    check_frame(marks, MARKED, name="marks")
    rows = pl.concat([stretches["row"], marks["row"]]).unique(maintain_order=True).to_list()
    x_axis = _time(stretches, marks, as_of)
    y = alt.Y(
        "row:N",
        title=None,
        sort=rows,
        axis=alt.Axis(labelLimit=110, labelOverlap=False),
    )
    named = [s for s in _STRETCHES if s in set(stretches["stretch"])]
    looks = _looks(named)
    bars = [
        alt.Chart(stretches.filter(pl.col("stretch") == name))
        .mark_bar(size=_STRETCHES[name][1], opacity=1, strokeWidth=1.5)
        .encode(
            x=x_axis("from:T"),
            x2="to:T",
            y=y,
            **looks,
            tooltip=[
                alt.Tooltip("row:N", title="Set"),
                alt.Tooltip("stretch:N", title="What"),
                alt.Tooltip("from:T", title="from", format="%Y-%m-%d"),
                alt.Tooltip("to:T", title="to", format="%Y-%m-%d"),
            ],
        )
        for name in named
    ]
    day = alt.Chart(pl.DataFrame({"day": [as_of]})).mark_rule(
        strokeDash=[4, 4], strokeWidth=1.5, color=_TODAY
    )
    marked = _marked(marks, x_axis, y)
    layers = [
        *([alt.LayerChart(layer=bars)] if bars else []),
        day.encode(x=x_axis("day:T")),
        *([alt.LayerChart(layer=marked)] if marked else []),
    ]
    drawn: alt.LayerChart = (
        alt.LayerChart(layer=layers)
        .resolve_scale(color="independent", shape="independent")
        .properties(height=_ROW * max(len(rows), 1) + _AXES)
    )
    return drawn


def _looks(named: list[str]) -> dict[str, Any]:
    """Inside and outline of the stretches that are drawn, with one legend for both."""
    colours = [theme.COLOURS[_STRETCHES[name][0]] for name in named]
    dashes = [_STRETCHES[name][2] for name in named]
    inside = [
        colour if dash is None else "transparent"
        for colour, dash in zip(colours, dashes, strict=True)
    ]
    outline = [list(dash or (1, 0)) for dash in dashes]
    legend = alt.Legend(
        title=None,
        orient="top",
        columns=2,
        labelLimit=150,
        symbolType="square",
        symbolSize=160,
        symbolStrokeWidth=1.5,
    )
    return {
        "fill": alt.Fill("stretch:N", scale=alt.Scale(domain=named, range=inside), legend=legend),
        "stroke": alt.Stroke(
            "stretch:N", scale=alt.Scale(domain=named, range=colours), legend=legend
        ),
        "strokeDash": alt.StrokeDash(
            "stretch:N", scale=alt.Scale(domain=named, range=outline), legend=legend
        ),
    }


def _marked(marks: pl.DataFrame, x_axis: "_Axis", y: alt.Y) -> list[alt.Chart]:
    kinds = [m for m in _MARKS if m in set(marks["what"])]
    if not kinds:
        return []
    colours = alt.Scale(domain=kinds, range=[theme.COLOURS[_MARKS[m][0]] for m in kinds])
    shapes = alt.Scale(domain=kinds, range=[_MARKS[m][1] for m in kinds])
    unsure = marks.filter(pl.col("low") < pl.col("high"))
    spans = (
        alt.Chart(unsure)
        .mark_rule(strokeWidth=2)
        .encode(
            x=x_axis("low:T"),
            x2="high:T",
            y=y,
            color=alt.Color("what:N", scale=colours, legend=theme.legend()),
        )
    )
    points = (
        alt.Chart(marks)
        .mark_point(size=150, filled=True, opacity=1, stroke="white", strokeWidth=1)
        .encode(
            x=x_axis("on:T"),
            y=y,
            color=alt.Color("what:N", scale=colours, legend=theme.legend()),
            shape=alt.Shape("what:N", scale=shapes, legend=theme.legend()),
            tooltip=[
                alt.Tooltip("row:N", title="Set"),
                alt.Tooltip("what:N", title="What"),
                alt.Tooltip("on:T", title="on", format="%Y-%m-%d"),
                alt.Tooltip("low:T", title="not before", format="%Y-%m-%d"),
                alt.Tooltip("high:T", title="not after", format="%Y-%m-%d"),
            ],
        )
    )
    return [points] if unsure.is_empty() else [spans, points]


class _Axis:
    """The shared time axis: the same scale for every layer."""

    def __init__(self, low: date, high: date) -> None:
        self._ends = [_vega(low), _vega(high)]

    def __call__(self, field: str) -> alt.X:
        return alt.X(
            field,
            title="Year",
            scale=alt.Scale(domain=self._ends, nice=False),
            axis=alt.Axis(
                format="%Y", labelOverlap="greedy", labelSeparation=8, grid=True, tickCount="year"
            ),
        )


def _vega(day: date) -> alt.DateTime:
    return alt.DateTime(year=day.year, month=day.month, date=day.day)


def _time(stretches: pl.DataFrame, marks: pl.DataFrame, as_of: date) -> _Axis:
    days = pl.concat(
        [stretches["from"], stretches["to"], marks["on"], marks["low"], marks["high"]]
    ).drop_nulls()
    first, last = min([as_of, *days.to_list()]), max([as_of, *days.to_list()])
    room = max((last - first) // 40, timedelta(days=20))
    return _Axis(first - room, last + room)
