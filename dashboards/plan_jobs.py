"""The jobs of a plan on its page: the table, one job in words with what follows it, the files."""

from collections.abc import Mapping
from typing import Any

import polars as pl
import shared
import streamlit as st
import take_away
import to_do
import words

from fleet.flow.ask_first import ask_first
from fleet.flow.plan import Plan
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
    jobs = found.jobs.join(found.beside, on="unit", how="left", maintain_order="left")
    st.markdown(_say(jobs))
    money = f" ({found.currency})" if found.currency else ""
    picked = take_away.rows(
        _in_words(jobs, money),
        hide_index=True,
        placeholder="",
        on_select="rerun",
        selection_mode="single-cell",
        key="plan_jobs",
        alt="Jobs of the plan in the order in which they are done",
        column_config={
            "Machine": st.column_config.TextColumn(pinned=True),
            "Start": _DAY,
            "If the month is lost": _DAY,
            "Due": st.column_config.DateColumn(
                format="YYYY-MM",
                help="The month in which its date comes, or came: earlier months are overdue.",
            ),
            "Waits (days)": st.column_config.NumberColumn(
                format="%d",
                help="From its date to the job, or from the day of the plan where its date has "
                "passed; below 0: brought forward.",
            ),
            f"Cost{money}": _MONEY,
            f"Waiting costs{money}": _MONEY,
        },
    )
    cells = picked.selection.cells
    _one(jobs.row(min(cells[0][0], jobs.height - 1) if cells else 0, named=True))
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
    chances = [to_do.fails_before(row) for row in jobs.iter_rows(named=True)]
    return jobs.select(
        pl.col("unit").alias("Machine"),
        pl.col("on").alias("Start"),
        *(beside if "on_if_lost" in jobs.columns else []),
        to_do.column(),
        pl.Series("Fails before", chances, dtype=pl.String),
        pl.col("model").alias("Model"),
        pl.col("hours").alias("Hours"),
        pl.col("reached").alias("Due"),
        pl.col("moved_days").alias("Waits (days)"),
        pl.col("cost").alias(f"Cost{money}"),
        pl.col("cost_of_moving").alias(f"Waiting costs{money}"),
        pl.col("reason").alias("Why then"),
    )


def _say(jobs: pl.DataFrame) -> str:
    """How many jobs there are, how long those wait that are overdue, and who else is moved."""
    late = jobs.filter("overdue")
    ahead = jobs.filter(~pl.col("overdue"))
    moved = ahead.filter(pl.col("moved_days").abs() > _MOVED).height
    said = words.counted(jobs.height, "job")
    if late.height:
        last = words.day(late["on"].max())  # type: ignore[arg-type]
        said += f"; {late.height:,} on machines past their date already, the last from {last} on"
    if ahead.height:
        said += f"; {ahead.height:,} on others, {moved:,} of them more than a month from their date"
    ask = jobs.filter(ask_first()).height
    asked = f" **Ask first of {ask:,}** that may well have failed unseen." if ask else ""
    return f"{said}.{asked}"


def _one(job: Mapping[str, Any]) -> None:
    """One job whole, as its reason is too long for a cell; and the pages that follow."""
    with st.container(border=True):
        unit = job["unit"]
        what = to_do.headline(job)
        st.markdown(f"**{words.escaped(unit)}: {what}, from {words.day(job['on'])}**")
        st.markdown(
            f"{words.escaped(job['reason'])} The chance that it fails before that day: "
            f"{to_do.fails_before(job)}."
        )
        shared.caution()
        with st.container(horizontal=True):
            for view, label, icon in _LINKS:
                st.page_link(
                    f"views/{view}.py",
                    label=words.escaped(label.format(unit)),
                    icon=icon,
                    query_params={"unit": unit},
                )
        st.caption(
            "Touch a row of the table, or go to it with the arrow keys, to read of another job."
        )
