"""The jobs of a plan on its page: the table, one job in words with what follows it, the files."""

from collections.abc import Mapping
from typing import Any

import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.flow.plan import Plan
from fleet.flow.read_aloud import chance_words
from fleet.sheets.calendar_file import calendar_file

_MOVED = 31  # days: less is the month's own grain
_DAY = st.column_config.DateColumn(format="YYYY-MM-DD")
_MONEY = st.column_config.NumberColumn(format="%.2f")
_LINKS = (
    ("sheet", "Bench sheet of {}", ":material/checklist:"),
    ("units", "All that is known of {}", ":material/history:"),
)


def draw(found: Plan, place: shared.Place) -> None:
    """The section; its first columns, which a phone shows, decide a day at the bench."""
    st.header("Jobs", anchor=False)
    moved = found.jobs.filter(pl.col("moved_days").abs() > _MOVED).height
    st.markdown(
        f"{words.counted(found.jobs.height, 'job')}; {moved:,} of them more than a month from "
        "their date."
    )
    money = f" ({found.currency})" if found.currency else ""
    picked = take_away.rows(
        _in_words(found.jobs, money),
        hide_index=True,
        placeholder="",
        on_select="rerun",
        selection_mode="single-row",
        key="plan_jobs",
        alt="Jobs of the plan in the order in which they are done",
        column_config={
            "Unit": st.column_config.TextColumn(pinned=True),
            "Start": _DAY,
            "If the month is lost": _DAY,
            "Due": _DAY,
            "Moved (days)": st.column_config.NumberColumn(format="%d"),
            f"Cost{money}": _MONEY,
            f"Waiting costs{money}": _MONEY,
        },
    )
    rows = picked.selection.rows
    _one(found.jobs.row(rows[0] if rows and rows[0] < found.jobs.height else 0, named=True))
    day = place.as_of.isoformat()
    with st.container(horizontal=True):
        take_away.file(
            "Download the dates (calendar)",
            lambda: calendar_file(found.jobs, found.work, as_of=place.as_of),
            f"plan-{day}.ics",
            "text/calendar",
            icon=":material/calendar_month:",
        )
        take_away.table(found.jobs, f"plan-{day}", what="Download the jobs")


def _in_words(jobs: pl.DataFrame, money: str) -> pl.DataFrame:
    beside = [pl.col("on_if_lost").alias("If the month is lost")]
    chances = [chance_words(chance) for chance in jobs["p_fail_before"]]
    return jobs.select(
        pl.col("unit").alias("Unit"),
        pl.col("on").alias("Start"),
        *(beside if "on_if_lost" in jobs.columns else []),
        pl.col("model").alias("Model"),
        pl.col("hours").alias("Hours"),
        pl.Series("Fails before", chances, dtype=pl.String),
        pl.col("due_on").alias("Due"),
        pl.col("moved_days").alias("Moved (days)"),
        pl.col("cost").alias(f"Cost{money}"),
        pl.col("cost_of_moving").alias(f"Waiting costs{money}"),
        pl.col("reason").alias("Why then"),
    )


def _one(job: Mapping[str, Any]) -> None:
    """One job whole, as its reason is too long for a cell; and the pages that follow."""
    with st.container(border=True):
        unit = job["unit"]
        what = charts.ACTION_WORDS.get(job["action"], job["action"])
        st.markdown(f"**{words.escaped(unit)}: {what}, from {words.day(job['on'])}**")
        st.markdown(
            f"{words.escaped(job['reason'])} The chance that it fails before that day: "
            f"{chance_words(job['p_fail_before'])}."
        )
        shared.caution()
        with st.container(horizontal=True):
            for view, label, icon in _LINKS:
                st.page_link(
                    f"views/{view}.py",
                    label=label.format(unit),
                    icon=icon,
                    query_params={"unit": unit},
                )
        st.caption("Select a row of the table to read another.")
