"""The jobs that the plan has for this month: a section of the page Today."""

import address
import plan_reads
import polars as pl
import shared
import streamlit as st
import take_away
import today_reads
import words

from fleet import charts


def draw(place: shared.Place) -> None:
    """Planned only when asked for."""
    st.header("Jobs of this month", anchor=False)
    if not st.toggle("Show what the plan says", **address.opened("show_jobs")):
        st.caption("The plan is made when it is asked for.")
        return
    found = plan_reads.planned(place.key, place.as_of, today_reads.USUAL_PLAN)
    month = place.as_of.strftime("%Y-%m")
    mine = _of_month(found.jobs, month)
    if mine.is_empty():
        later = "" if found.jobs.is_empty() else found.jobs["on"].min().strftime("%Y-%m")  # type: ignore[union-attr]
        st.markdown(
            f"No job is planned for what is left of {month}."
            + (f" The first are in {later}:" if later else "")
        )
        mine = _of_month(found.jobs, later)
    if mine.is_empty():
        return
    hours = float(mine["hours"].sum())
    st.markdown(f"{words.counted(mine.height, 'job')}, {hours:.1f} hours at the bench.")
    table = mine.select(
        pl.col("unit").alias("Machine"),
        pl.col("on").alias("From"),
        pl.col("action").replace(charts.ACTION_WORDS).alias("What to do"),
        pl.col("hours").alias("Hours"),
        pl.col("model").alias("Model"),
        pl.col("due_on").alias("Due"),
    )
    day = st.column_config.DateColumn(format="YYYY-MM-DD")
    take_away.rows(
        table,
        hide_index=True,
        placeholder="",
        alt="Jobs of the month",
        column_config={
            "Machine": st.column_config.TextColumn(pinned=True),
            "From": day,
            "Due": day,
            "Hours": st.column_config.NumberColumn(format="%.1f"),
        },
    )
    take_away.table(table, f"jobs-{place.as_of}", what="Jobs")


def _of_month(jobs: pl.DataFrame, month: str) -> pl.DataFrame:
    return jobs.filter(pl.col("on").dt.to_string("%Y-%m") == month)
