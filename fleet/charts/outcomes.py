"""The chance that the next recap of each model succeeds, with limits."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import SUCCESS, check_frame

_ROW, _AXES = 34, 70


def draw_success(rows: pl.DataFrame) -> alt.LayerChart:
    """One line for each model from its lower to its upper limit, a mark at the chance.

    `rows`: SUCCESS, in the order to be drawn; the mark is the larger the more jobs are behind it.
    """
    check_frame(rows, SUCCESS, name="recaps that succeed")
    x_axis = alt.Axis(format="%", grid=True)
    scale = alt.Scale(domain=[0.0, 1.0])
    title = "Chance that the next recap succeeds"
    y = alt.Y("model:N", title=None, sort=rows["model"].to_list(), axis=alt.Axis(labelLimit=150))
    tooltip = [
        alt.Tooltip("model:N", title="Model"),
        alt.Tooltip("success:Q", title="Chance", format=".0%"),
        alt.Tooltip("success_low:Q", title="at least", format=".0%"),
        alt.Tooltip("success_high:Q", title="at most", format=".0%"),
        alt.Tooltip("cured:Q", title="Succeeded"),
        alt.Tooltip("jobs:Q", title="of jobs"),
    ]
    blue = theme.COLOURS[0]
    lines = (
        alt.Chart(rows)
        .mark_rule(strokeWidth=2.5, color=blue)
        .encode(
            x=alt.X("success_low:Q", title=title, scale=scale, axis=x_axis),
            x2="success_high:Q",
            y=y,
            tooltip=tooltip,
        )
    )
    marks = (
        alt.Chart(rows)
        .mark_point(filled=True, opacity=1, color=blue)
        .encode(
            x=alt.X("success:Q", title=title, scale=scale),
            y=y,
            size=alt.Size(
                "jobs:Q", scale=alt.Scale(domain=[0, 40], range=[40, 220], clamp=True), legend=None
            ),
            tooltip=tooltip,
        )
    )
    return alt.LayerChart(layer=[lines, marks]).properties(
        height=_ROW * max(rows.height, 1) + _AXES
    )
