"""Hours at the bench in each month of a plan, by model, against what a month has."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_plan_hours` reads.
WORK = pl.Schema({"month": pl.String(), "model": pl.String(), "hours": pl.Float64()})
ROOM = pl.Schema(
    {"month": pl.String(), "hours": pl.Float64(), "hours_free": pl.Float64()}  # null: no limit
)
_OTHERS = "other models"


def draw_plan_hours(work: pl.DataFrame, room: pl.DataFrame) -> alt.LayerChart:
    """A bar for each month, cut by model, and a tick at the hours the month has.

    Reads WORK (getting ready included) and ROOM (a row for every month of the plan); raises
    BadFrame. Beyond the models that can be told apart, those of fewest hours are one.
    """
    check_frame(work, WORK, name="work")
    check_frame(room, ROOM, name="months")
    shown = _grouped(work.select(list(WORK)))
    names = theme.check_groups(shown)
    months = room["month"].to_list()
    x = alt.X(
        "month:O", title="Month", scale=alt.Scale(domain=months),
        axis=alt.Axis(labelAngle=-60, labelOverlap=True),
    )  # fmt: skip
    bars = (
        alt.Chart(shown)
        .mark_bar(strokeWidth=1, stroke="white")
        .encode(
            x=x,
            y=alt.Y("hours:Q", title="Hours at the bench", stack="zero"),
            color=theme.colour(names),
            tooltip=[
                alt.Tooltip("month:O", title="Month"),
                alt.Tooltip("group:N", title="Model"),
                alt.Tooltip("hours:Q", title="Hours", format=".2f"),
            ],
        )
    )
    limits = room.filter(pl.col("hours_free").is_not_null()).select(
        "month", has=pl.col("hours") + pl.col("hours_free")
    )
    ticks = (
        alt.Chart(limits)
        .mark_tick(thickness=3, color="#7F7F7F", width=18)
        .encode(x=x, y=alt.Y("has:Q"), tooltip=[
            alt.Tooltip("month:O", title="Month"),
            alt.Tooltip("has:Q", title="The bench has", format=".2f"),
        ])
    )  # fmt: skip
    return alt.LayerChart(layer=[bars, ticks]).properties(height=theme.HEIGHT - 80)


def _grouped(work: pl.DataFrame) -> pl.DataFrame:
    """`work` with a column group: the model, or all those beyond the most that can be shown."""
    most = theme.MOST_GROUPS
    hours = work.group_by("model").agg(pl.col("hours").sum())
    models = hours.sort("hours", "model", descending=[True, False])
    kept = models["model"].head(most if models.height <= most else most - 1)
    named = work.with_columns(
        group=pl.when(pl.col("model").is_in(kept.implode()))
        .then("model")
        .otherwise(pl.lit(_OTHERS))
    )
    return named.group_by("month", "group").agg(pl.col("hours").sum()).sort("month", "group")
