"""What waits already and what comes, drawn: two charts of the due page."""

import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.ages import DAYS_PER_YEAR
from fleet.flow.due_when import overdue
from fleet.flow.read_aloud import number

_YEARS = 5  # more quarters, and on a phone a bar is narrower than its number


def draw(shown: pl.DataFrame, place: shared.Place) -> None:
    """Machines past their date by how long, and those to come by quarter.

    Two charts, for they have nothing in common: what waits is one pile, to be worked off as the
    bench allows; on one scale with it, what comes in a quarter would be too small to read.
    """
    due = shown.select(pl.exclude("source"))
    st.header("What waits now", anchor=False)
    _waiting(due.filter(overdue()))
    st.header("When more work comes", anchor=False)
    _coming(due.filter(~overdue()), place)


def _waiting(late: pl.DataFrame) -> None:
    if late.is_empty():
        st.markdown("No machine is past its date.")
        return
    years = float(late.select(pl.col("overdue_days").median() / DAYS_PER_YEAR).item())
    sentence = (
        f"{late.height:,} machines have passed their date and wait now, half of them for more "
        f"than {number(years)} years. That date says when new parts would have paid best; it does "
        "not say that the machine fails."
        if late.height > 1
        else f"One machine passed its date {number(years)} years ago and waits now."
    )
    st.markdown(sentence)
    take_away.drawn(charts.draw_overdue(late), "what-waits", alt=sentence)
    counts = charts.count_overdue(late).rename({"late": "Past its date for"})
    with st.expander("The same as a table (machines)"):
        take_away.shown(
            counts.pivot("action", index="Past its date for", values="units").fill_null(0),
            "what-waits",
            hide_index=True,
            alt="Machines past their date, by how long and by what to do",
        )


def _coming(ahead: pl.DataFrame, place: shared.Place) -> None:
    until = place.as_of.replace(year=place.as_of.year + _YEARS, day=1)
    dated = ahead["due_on"].drop_nulls()
    later = int((dated > until).sum())
    counts = charts.count_by_quarter(ahead, until=until)
    within = int(counts["units"].sum())
    sentence = (
        f"{words.counted(within, 'more machine comes', 'more machines come')} due by "
        f"{words.day(until)}, {later:,} later, and {ahead.height - dated.len():,} have no due "
        "date. The chart ends there."
    )
    st.markdown(sentence)
    if not within:
        return
    take_away.drawn(charts.draw_due_dates(ahead, until=until), "when-work-comes", alt=sentence)
    wide = counts.with_columns(
        pl.format("{} Q{}", pl.col("quarter").dt.year(), pl.col("quarter").dt.quarter())
    ).pivot("action", index="quarter", values="units")
    with st.expander("The same as a table (machines in each quarter)"):
        take_away.shown(
            wide.fill_null(0).rename({"quarter": "Quarter"}),
            "when-work-comes",
            hide_index=True,
            alt="Machines due in each quarter by what to do",
        )
