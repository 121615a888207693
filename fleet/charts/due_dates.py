"""How many units come due in each quarter, by what is to be done."""

from datetime import date

import altair as alt
import polars as pl

from fleet.charts import actions, theme
from fleet.frames import DUE, check_frame

_LATE = "past its date"


def count_by_quarter(due: pl.DataFrame, *, until: date | None = None) -> pl.DataFrame:
    """Units due in each quarter and for each action.

    Returns quarter (Date, its first day), action (words), units (whole number), in order. Units
    without a due date are not counted, nor those due after `until`.
    """
    check_frame(due, DUE, name="due")
    dated = due.filter(pl.col("due_on").is_not_null())
    if until is not None:
        dated = dated.filter(pl.col("due_on") <= until)
    return (
        dated.with_columns(quarter=pl.col("due_on").dt.truncate("1q"), action=actions.in_words())
        .group_by("quarter", "action")
        .agg(units=pl.len().cast(pl.Int64))
        .sort("quarter", actions.order())
    )


def draw_due_dates(due: pl.DataFrame, *, until: date | None = None) -> alt.LayerChart:
    """Stacked bars: units that come due in each quarter (DUE), by action, with their numbers. Those
    past their date stand in a bar of their own before the first quarter.

    Units without a due date are not drawn, nor those due after `until`; the caller says so.
    """
    late = pl.col("overdue_days").fill_null(0.0) >= 1.0
    ahead = count_by_quarter(due.filter(~late), until=until)
    waiting = count_by_quarter(due.filter(late)).group_by("action").agg(pl.col("units").sum())
    counts = pl.concat(
        [
            waiting.select(pl.lit(_LATE).alias("name"), "action", "units"),
            ahead.select(_name(pl.col("quarter")).alias("name"), "action", "units"),
        ]
    )
    tallest = pl.col("units").sum().over("name").max()
    counts = counts.with_columns(
        fits=pl.col("units") / tallest > 0.07,  # room for a number inside the bar
        order=actions.order(),
    )
    x = alt.X(
        "name:O",
        title="Quarter in which the recap is due",
        scale=alt.Scale(domain=[*[_LATE] * (waiting.height > 0), *_quarters(ahead)]),
        axis=alt.Axis(labelAngle=-60, labelOverlap=True),
    )
    y = alt.Y("units:Q", title="Machines", stack="zero", axis=alt.Axis(tickMinStep=1, format="d"))
    bars = (
        alt.Chart(counts)
        .mark_bar(strokeWidth=1.5)
        .encode(
            x=x,
            y=y,
            **actions.bars(counts),
            tooltip=[
                alt.Tooltip("name:O", title="Quarter"),
                alt.Tooltip("action:N", title="What to do"),
                alt.Tooltip("units:Q", title="Machines"),
            ],
        )
    )
    numbers = (
        alt.Chart(counts.filter(pl.col("fits")))
        .mark_text(fontSize=11, fontWeight="bold", dy=8, baseline="middle")
        .encode(
            x=x,
            y=alt.Y("units:Q", stack="zero"),
            **actions.numbers(counts),
        )
    )
    return alt.LayerChart(layer=[bars, numbers]).properties(height=theme.HEIGHT - 40)


def _name(quarter: pl.Expr) -> pl.Expr:
    return pl.format("{} Q{}", quarter.dt.year(), quarter.dt.quarter())


def _quarters(counts: pl.DataFrame) -> list[str]:
    """Every quarter from the first to the last, so that empty ones leave a gap."""
    if counts.is_empty():
        return []
    span = pl.date_range(pl.col("quarter").min(), pl.col("quarter").max(), "1q")
    names: list[str] = (
        counts.select(quarter=span).select(name=_name(pl.col("quarter")))["name"].to_list()
    )
    return names
