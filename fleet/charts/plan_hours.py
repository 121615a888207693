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
_ROOM_FOR_A_NAME = 0.15  # of the tallest bar
_ALL_NAMED = 24  # months whose names a phone can hold


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
        axis=_month_axis(months, sorted(set(shown["month"]))),
    )  # fmt: skip
    look = _look(names)
    bars = (
        alt.Chart(shown)
        .mark_bar(strokeWidth=1.5)
        .encode(
            x=x,
            y=alt.Y("hours:Q", title="Hours at the bench", stack="zero"),
            **look,
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
    named = (
        alt.Chart(shown.filter(pl.col("hours") / _tallest(shown) > _ROOM_FOR_A_NAME))
        .mark_text(angle=270, fontSize=11, fontWeight="bold")
        .encode(
            x=x,
            y=alt.Y("hours:Q", stack="zero", bandPosition=0.5),
            detail="group:N",
            text="group:N",
            color=alt.Color("group:N", scale=_scale(names, filled="#FFFFFF"), legend=None),
        )
    )
    return alt.LayerChart(layer=[bars, ticks, named]).properties(height=theme.HEIGHT - 80)


def _look(names: list[str]) -> dict[str, alt.Fill | alt.Stroke]:
    """By turns filled and hollow, as neighbours are not to be told apart by colour alone."""
    legend = theme.legend()
    legend.symbolStrokeWidth = 1.5
    legend.symbolType = "square"
    return {
        "fill": alt.Fill("group:N", scale=_scale(names, hollow="transparent"), legend=legend),
        "stroke": alt.Stroke("group:N", scale=_scale(names), legend=legend),
    }


def _scale(names: list[str], *, filled: str = "", hollow: str = "") -> alt.Scale:
    """The colour of each model, or another for all that are filled or hollow."""
    colours = [theme.COLOURS[i % len(theme.COLOURS)] for i in range(len(names))]
    other = (filled, hollow)
    return alt.Scale(domain=names, range=[other[i % 2] or c for i, c in enumerate(colours)])


def _month_axis(months: list[str], drawn: list[str]) -> alt.Axis:
    """Names every month that has a bar; all of them where there is room."""
    if len(months) <= _ALL_NAMED:
        return alt.Axis(labelAngle=-60, labelOverlap=False)
    if len(drawn) > _ALL_NAMED:
        return alt.Axis(labelAngle=-60, labelOverlap=True)
    return alt.Axis(labelAngle=-60, labelOverlap=False, values=drawn)


def _tallest(shown: pl.DataFrame) -> float:
    return float(shown.group_by("month").agg(pl.col("hours").sum())["hours"].max() or 1.0)  # type: ignore[arg-type]


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
