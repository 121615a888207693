"""The due list as a table, and one machine of it in sentences."""

from collections.abc import Mapping
from typing import Any

import access
import polars as pl
import shared
import streamlit as st
import take_away
import to_do
import words
from due_choice import Choice

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.due_when import date_reached, day_reached, overdue
from fleet.flow.read_aloud import chance_words, number

_SHOWN = 1_000  # rows sent to the browser; the download has all
_LINKS = (
    ("units", "History of {}", ":material/history:"),
    ("log", "Log a report on {}", ":material/edit_note:"),
    ("sheet", "Bench sheet of {}", ":material/print:"),
    ("choose", "Keep, recap or replace {}", ":material/balance:"),
)


@st.fragment
def draw(shown: pl.DataFrame, choice: Choice, place: shared.Place) -> None:
    """The table, what is to be known of the machine touched in it, and its files."""
    years = number(choice.horizon)
    chance = f"Fails in {years} years"
    picked = st.dataframe(
        in_words(shown.head(_SHOWN), years),
        hide_index=True,
        on_select="rerun",
        # No column of boxes to tick: on a phone its width is a column's.
        selection_mode="single-cell",
        key="due_table",
        placeholder="",
        alt="Working machines, with what to do, when, and how likely each is to fail",
        column_config={
            "Machine": st.column_config.TextColumn(pinned=True, width=76),
            "What to do": st.column_config.TextColumn(width=112),
            "Due": st.column_config.DateColumn(
                format="YYYY-MM",
                width=76,
                help="The month in which its date comes, or came: earlier months are overdue.",
            ),
            chance: st.column_config.TextColumn(
                width=124,
                help="The chance that a capacitor fails within that time, if it works now.",
            ),
            "Due, by the reports alone": st.column_config.DateColumn(format="YYYY-MM"),
            "Overdue (years)": st.column_config.NumberColumn(format="%.1f"),
            "Age of parts (years)": st.column_config.NumberColumn(format="%.1f"),
            "Last known working": st.column_config.DateColumn(format="YYYY-MM-DD"),
        },
    )
    if shown.height > _SHOWN:
        st.caption(f"The first {_SHOWN:,} are shown; the download has all {shown.height:,}.")
    cells = picked.selection.cells
    _machine(shown, cells[0][0] if cells else 0, years)
    whole = shown.with_columns(age_unit=pl.lit("years"))
    take_away.table(whole, f"due-{place.as_of.isoformat()}", what="Download the list")


def in_words(frame: pl.DataFrame, years: str) -> pl.DataFrame:
    """The rows as people read them, what decides first; order kept."""
    unseen = [chance_words(p) for p in frame["p_failed_unseen"]]
    ages = [
        "never" if a is None and known else "unknown" if a is None else f"{a:.1f}"
        for a, known in zip(frame["optimal_age"], frame["supported"], strict=True)
    ]
    beside: list[pl.Expr | pl.Series] = []
    if "due_on_by_likelihood" in frame.columns:
        alone = [chance_words(p) for p in frame["p_fail_by_likelihood"]]
        beside = [
            pl.col("due_on_by_likelihood").alias("Due, by the reports alone"),
            pl.Series("Fails, by the reports alone", alone, dtype=pl.String),
        ]
    return frame.select(
        pl.col("unit").alias("Machine"),
        to_do.column(),
        date_reached().alias("Due"),
        pl.Series(
            f"Fails in {years} years",
            [chance_words(p) for p in frame["p_fail"]],
            dtype=pl.String,
        ),
        *beside,
        pl.when(overdue()).then(pl.col("overdue_days") / DAYS_PER_YEAR).alias("Overdue (years)"),
        pl.col("model").alias("Model"),
        pl.col("batch").alias("Batch"),
        pl.col("age").alias("Age of parts (years)"),
        pl.Series("Has failed unseen", unseen, dtype=pl.String),
        pl.Series("Age to replace (years)", ages, dtype=pl.String),
        pl.col("last_known_working").alias("Last known working"),
        pl.when("supported").then(pl.lit("yes")).otherwise(pl.lit("no")).alias("Within ages seen"),
    )


def _machine(shown: pl.DataFrame, index: int, years: str) -> None:
    last = min(shown.height, _SHOWN) - 1
    row = shown.row(min(index, last), named=True)
    unit = words.escaped(row["unit"])
    with st.container(border=True):
        st.markdown(f"**{unit}: {to_do.headline(row)}**")
        reason = f"{row['reason'][:1].upper()}{row['reason'][1:]}"
        st.markdown(words.escaped(reason))
        st.markdown(_figures(row, years))
        if row["due_on"] is not None:
            st.markdown(_dates(row))
        st.caption(
            "Touch a row of the table, or go to it with the arrow keys, to read of another machine."
        )
        shared.caution()
        with st.container(horizontal=True):
            for view, label, icon in _LINKS:
                if view != "log" or access.person().may("log"):
                    st.page_link(
                        f"views/{view}.py",
                        label=label.format(unit),
                        icon=icon,
                        query_params={"unit": row["unit"]},
                    )


def _figures(row: Mapping[str, Any], years: str) -> str:
    chance, low, high, unseen = (
        _percent(row[name]) for name in ("p_fail", "p_fail_low", "p_fail_high", "p_failed_unseen")
    )
    return (
        f"In figures: if it works now, {chance} that a capacitor fails within {years} years "
        f"(90 % limits {low} to {high}); {unseen} that it has failed unseen."
    )


def _percent(chance: float | None) -> str:
    if chance is None:
        return "unknown"
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def _dates(row: Mapping[str, Any]) -> str:
    due, low, high = row["due_on"], row["due_low"], row["due_high"]
    reached = day_reached(row)
    late = reached is not None and reached < due
    said = f"Due since {words.day(reached)}" if late and reached else f"Due {words.day(due)}"
    if due == low == high:
        return f"{said}, wherever in its limits the truth lies."
    early = (
        "never" if low is None else f"{words.day(low)}{' or before' if low <= due and late else ''}"
    )
    last = "never" if high is None else words.day(high)
    return f"{said}; within the limits it could be from {early} to {last}."
