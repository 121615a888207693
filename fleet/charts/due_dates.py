"""How many units come due in each quarter, by what is to be done."""

from datetime import date

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import DUE, check_frame

# What to do, in the order of urgency.
ACTION_WORDS = {
    "recap_now": "recap now",
    "recap_when_due": "recap when due",
    "measure": "measure first",
    "check_in": "ask how it is",
    "leave": "leave alone",
}
_COLOURS = ("#D55E00", "#0072B2", "#8A7A00", "#009E73", "#7F7F7F")


def count_by_quarter(due: pl.DataFrame, *, until: date | None = None) -> pl.DataFrame:
    """Units due in each quarter and for each action.

    Returns quarter (Date, its first day), action (words), units (whole number), in order. Units
    without a due date are not counted, nor those due after `until`.
    """
    check_frame(due, DUE, name="due")
    dated = due.filter(pl.col("due_on").is_not_null())
    if until is not None:
        dated = dated.filter(pl.col("due_on") <= until)
    order = {word: i for i, word in enumerate(ACTION_WORDS.values())}
    return (
        dated.with_columns(
            quarter=pl.col("due_on").dt.truncate("1q"),
            action=pl.col("action").replace(ACTION_WORDS),
        )
        .group_by("quarter", "action")
        .agg(units=pl.len().cast(pl.Int64))
        .with_columns(i=pl.col("action").replace_strict(order, default=len(order)))
        .sort("quarter", "i")
        .drop("i")
    )


def draw_due_dates(due: pl.DataFrame, *, until: date | None = None) -> alt.LayerChart:
    """Stacked bars: units that come due in each quarter (DUE), by action, with their numbers.

    Units without a due date are not drawn, nor those due after `until`; the caller says so.
    """
    tallest = pl.col("units").sum().over("quarter").max()
    counts = count_by_quarter(due, until=until).with_columns(
        name=_name(pl.col("quarter")),
        fits=pl.col("units") / tallest > 0.07,  # room for a number inside the bar
        order=pl.col("action").replace_strict(
            {w: i for i, w in enumerate(ACTION_WORDS.values())}, default=9
        ),
    )
    words = [w for w in ACTION_WORDS.values() if w in set(counts["action"])]
    shown = [c for w, c in zip(ACTION_WORDS.values(), _COLOURS, strict=True) if w in words]
    x = alt.X(
        "name:O",
        title="Quarter in which the recap is due",
        scale=alt.Scale(domain=_quarters(counts)),
        axis=alt.Axis(labelAngle=-60, labelOverlap=True),
    )
    y = alt.Y("units:Q", title="Units", stack="zero", axis=alt.Axis(tickMinStep=1, format="d"))
    bars = (
        alt.Chart(counts)
        .mark_bar()
        .encode(
            x=x,
            y=y,
            color=alt.Color(
                "action:N", scale=alt.Scale(domain=words, range=shown), legend=theme.legend()
            ),
            order=alt.Order("order:Q"),
            tooltip=[
                alt.Tooltip("name:O", title="Quarter"),
                alt.Tooltip("action:N", title="What to do"),
                alt.Tooltip("units:Q", title="Units"),
            ],
        )
    )
    numbers = (
        alt.Chart(counts.filter(pl.col("fits")))
        .mark_text(color="white", fontSize=11, fontWeight="bold", dy=8, baseline="middle")
        .encode(
            x=x,
            y=alt.Y("units:Q", stack="zero"),
            order=alt.Order("order:Q"),
            detail="action:N",
            text=alt.Text("units:Q"),
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
