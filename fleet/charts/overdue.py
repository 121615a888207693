"""How long machines have been past their date, by what is to be done."""

import altair as alt
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.charts import actions
from fleet.frames import DUE, check_frame

# Years past the date, up to each; our own steps, that a few years are told from many.
_STEPS = (1.0, 2.0, 5.0, 10.0)
_NAMES = ("under 1 year", "1 to 2 years", "2 to 5 years", "5 to 10 years", "over 10 years")
_ROW = 38
_AXES = 150


def count_overdue(due: pl.DataFrame) -> pl.DataFrame:
    """Units past their date by how long: late (words), action (words), units, in order.

    Those of DUE with no day overdue are not counted.
    """
    check_frame(due, DUE, name="due")
    years = pl.col("overdue_days") / DAYS_PER_YEAR
    step = pl.sum_horizontal(years >= years_past for years_past in _STEPS)
    return (
        due.filter(pl.col("overdue_days") > 0.0)
        .with_columns(step=step, action=actions.in_words())
        .group_by("step", "action")
        .agg(units=pl.len().cast(pl.Int64))
        .sort("step", actions.order())
        .select(
            pl.col("step")
            .replace_strict(dict(enumerate(_NAMES)), return_dtype=pl.String)
            .alias("late"),
            "action",
            "units",
        )
    )


def draw_overdue(due: pl.DataFrame) -> alt.LayerChart:
    """Bars lying down: units past their date (DUE) by how long, stacked by action, with numbers."""
    longest = pl.col("units").sum().over("late").max()
    counts = count_overdue(due).with_columns(
        fits=pl.col("units") / longest > 0.05,  # room for a number inside the bar
        order=actions.order(),
    )
    y = alt.Y(
        "late:N", title="Past its date for", sort=list(_NAMES), scale=alt.Scale(domain=list(_NAMES))
    )
    x = alt.X("units:Q", title="Machines", stack="zero", axis=alt.Axis(tickMinStep=1, format="d"))
    bars = (
        alt.Chart(counts)
        .mark_bar(strokeWidth=1.5)
        .encode(
            x=x,
            y=y,
            **actions.bars(counts),
            tooltip=[
                alt.Tooltip("late:N", title="Past its date for"),
                alt.Tooltip("action:N", title="What to do"),
                alt.Tooltip("units:Q", title="Machines"),
            ],
        )
    )
    numbers = (
        alt.Chart(counts.filter(pl.col("fits")))
        .mark_text(fontSize=11, fontWeight="bold", dx=-4, align="right", baseline="middle")
        .encode(
            x=alt.X("units:Q", stack="zero"),
            y=y,
            **actions.numbers(counts),
        )
    )
    drawn: alt.LayerChart = alt.LayerChart(layer=[bars, numbers]).properties(
        height=_ROW * len(_NAMES) + _AXES
    )
    return drawn
