"""What each way of going on with a machine costs a year, with limits."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_choices` reads; rows without a cost are left out.
DRAWN = pl.Schema(
    {
        "what": pl.String,
        "cost_per_year": pl.Float64,
        "cost_low": pl.Float64,
        "cost_high": pl.Float64,
        "p_no_failure": pl.Float64,
    }
)
_ROW = 34
_AXES = 70


def draw_choices(options: pl.DataFrame, *, currency: str | None = None) -> alt.LayerChart:
    """A dot at each option's cost a year of service, and a line between its limits.

    `options` has DRAWN, the cheapest first; the order is kept.
    """
    check_frame(options, DRAWN, name="options")
    rows = options.filter(pl.col("cost_per_year").is_not_null()).select(DRAWN.names())
    title = "Cost a year of service" + (f" ({currency})" if currency else "")
    y = alt.Y("what:N", title=None, sort=rows["what"].to_list(), axis=alt.Axis(labelLimit=230))
    tooltip = [
        alt.Tooltip("what:N", title="What to do"),
        alt.Tooltip("cost_per_year:Q", title="A year", format=",.3~g"),
        alt.Tooltip("cost_low:Q", title="at least", format=",.3~g"),
        alt.Tooltip("cost_high:Q", title="at most", format=",.3~g"),
        alt.Tooltip("p_no_failure:Q", title="No failure", format=".0%"),
    ]
    blue = theme.COLOURS[0]
    base = alt.Chart(rows)
    line = base.mark_rule(strokeWidth=2.5, color=blue).encode(
        x=alt.X("cost_low:Q", title=title), x2="cost_high:Q", y=y, tooltip=tooltip
    )
    dot = base.mark_point(size=90, filled=True, color=blue, opacity=1.0).encode(
        x=alt.X("cost_per_year:Q", title=title), y=y, tooltip=tooltip
    )
    return alt.LayerChart(layer=[line, dot]).properties(height=_AXES + _ROW * max(rows.height, 1))
