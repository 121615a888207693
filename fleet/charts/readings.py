"""Readings of one machine over time, each as a share of its limit."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_readings` reads; rows without a share are left out.
HELD = pl.Schema(
    {
        "position": pl.String(),
        "on": pl.Date(),
        "stage": pl.String(),
        "share": pl.Float64(),  # of the limit
        "value": pl.Float64(),
    }
)


_STAGES = {"check": 0, "before": 1, "after": 2}


def draw_readings(readings: pl.DataFrame, *, title: str, value: str) -> alt.LayerChart:
    """A mark for each reading (HELD), lines between those of a position, and a line at the limit.

    `title`: of the vertical axis; `value`: what was measured, with its unit. Shares run by ratio.
    Raises BadInput for more positions than can be told apart.
    """
    check_frame(readings, HELD, name="readings")
    stage = pl.col("stage").fill_null("check")
    place = stage.replace_strict(_STAGES, default=0, return_dtype=pl.Int64)
    shown = (
        readings.filter(pl.col("share") > 0.0)
        .with_columns(
            group="position", when=pl.format("{} {}", "on", stage), stage=stage, place=place
        )
        .sort("on", "place", "position")
    )
    names = theme.check_groups(shown)
    # Days side by side, not to scale: what was read before and after a job falls on one day.
    x = alt.X(
        "when:O",
        title="Day of the reading",
        sort=shown["when"].unique(maintain_order=True).to_list(),
        axis=alt.Axis(labelAngle=-35, labelOverlap=True, labelLimit=130),
    )
    ends = [*shown["share"].to_list(), 1.0]
    low, high = 0.8 * min(ends), 1.25 * max(ends)
    y = alt.Y(
        "share:Q",
        title=title,
        scale=alt.Scale(type="log", domain=[low, high], nice=False),
        axis=alt.Axis(
            format="~%", grid=True,
            values=[t for t in (0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.3, 2.0, 3.0, 5.0,
                                10.0, 20.0, 50.0, 100.0) if low <= t <= high],
        ),
    )  # fmt: skip
    base = alt.Chart(shown)
    lines = base.mark_line(strokeWidth=1.5).encode(
        x=x, y=y, color=theme.colour(names), strokeDash=theme.dash(names)
    )
    points = base.mark_point(size=90, filled=True, opacity=1).encode(
        x=x,
        y=y,
        color=theme.colour(names),
        shape=theme.shape(names),
        tooltip=[
            alt.Tooltip("position:N", title="Position"),
            alt.Tooltip("when:O", title="when"),
            alt.Tooltip("value:Q", title=value, format=".3g"),
            alt.Tooltip("share:Q", title="of its limit", format=".0%"),
        ],
    )
    limit = (
        alt.Chart(pl.DataFrame({"share": [1.0]}))
        .mark_rule(strokeDash=[6, 4], strokeWidth=2, color=theme.COLOURS[1])
        .encode(y=y)
    )
    return alt.LayerChart(layer=[limit, lines, points]).properties(height=theme.HEIGHT)
