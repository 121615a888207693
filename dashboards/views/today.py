from collections.abc import Mapping
from typing import Any

import access
import address
import altair  # noqa: F401 - loaded once with the first page, so that later ones open quicker
import plan_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import today_changed
import today_reads
import today_report
import words

from fleet import charts
from fleet.flow.check_finding import NEGLIGIBLE

_FEW = 5  # machines written out; the due list has all


def main() -> None:
    """What to do now, what changed, whom to ask, this month's jobs, the report for the group."""
    place = shared.open_page("Today", "What is due now, what changed, and whom to ask.")
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        _due(place)
        # What changed takes longest (two due lists): its place is kept, and filled at the end.
        changed = st.container()
        _ask(place)
        _jobs(place)
        today_report.draw(place)
        with changed:
            today_changed.draw(place)


def _due(place: shared.Place) -> None:
    st.subheader("Due now", anchor=False)
    frame = today_reads.due(place.key, place.as_of)
    counts = dict(frame.group_by("action").len().iter_rows())
    now = frame.filter(action="recap_now")
    st.markdown(
        f"**{words.counted(now.height, 'machine')}** of {frame.height:,} at work "
        f"{'is' if now.height == 1 else 'are'} due now; {counts.get('measure', 0):,} should be "
        f"measured before anything is decided, {counts.get('check_in', 0):,} asked after."
    )
    if not now.is_empty():
        st.warning(words.CAUTION, icon=":material/electrical_services:")
    for row in now.head(_FEW).iter_rows(named=True):
        _machine(row)
    with st.container(horizontal=True):
        more = now.height - _FEW
        st.page_link(
            "views/due.py",
            label=f"{more:,} more on the due list" if more > 0 else "The whole due list",
            icon=":material/list:",
            query_params={"action": "recap_now"} if more > 0 else None,
        )
        st.page_link("views/plan.py", label="Plan and order", icon=":material/calendar_month:")


def _machine(row: Mapping[str, Any]) -> None:
    unit = row["unit"]
    with st.container(border=True):
        st.markdown(f"**{words.escaped(unit)}**, {words.escaped(row['model'])}")
        st.markdown(words.escaped(_short(row["reason"])))
        with st.container(horizontal=True):
            _link("views/sheet.py", f"Bench sheet of {unit}", ":material/print:", unit)
            _link("views/units.py", f"History of {unit}", ":material/history:", unit)
            if access.person().may("log"):
                _link("views/log.py", f"Log a report on {unit}", ":material/edit_note:", unit)


def _short(reason: str) -> str:
    """The first two sentences: the due date and the chance; the rest is with the machine."""
    sentences = reason.split(". ")
    return ". ".join(sentences[:2]).rstrip(".") + "."


def _link(page: str, label: str, icon: str, unit: str) -> None:
    st.page_link(page, label=label, icon=icon, query_params={"unit": unit})


def _ask(place: shared.Place) -> None:
    st.subheader("Whom to ask for a check-in", anchor=False)
    ask, frame = today_reads.to_ask(place.key, place.as_of)
    if ask is None or frame.is_empty():
        st.markdown("Every machine on original parts was heard of within the last two years.")
        return
    st.markdown(
        f"Does it still work? These {words.counted(frame.height, 'machine')} were not heard of for "
        "more than two years; those whose answer tells most come first."
    )
    if ask.effect is not None and ask.whose is not None:
        share = f"for {ask.whose} by up to {100 * ask.effect:.0f} %"
        st.caption(
            "Answers from all silent machines would hardly change the curves; they still turn up "
            "machines that have failed."
            if ask.effect < NEGLIGIBLE
            else f"Answers from all silent machines would narrow the limits {share}."
        )
    lines = [
        f"{unit} ({model}), last known to work {day or 'never told'}"
        for unit, model, day in frame.iter_rows()
    ]
    st.code("\n".join(lines), language=None, wrap_lines=True)
    table = frame.rename(
        {"unit": "Unit", "model": "Model", "last_known_working": "Last known to work"}
    )
    take_away.table(table, f"to-ask-{place.as_of}", what="Machines to ask after")


def _jobs(place: shared.Place) -> None:
    st.subheader("Jobs of this month", anchor=False)
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
        pl.col("unit").alias("Unit"),
        pl.col("model").alias("Model"),
        pl.col("on").alias("From"),
        pl.col("due_on").alias("Due"),
        pl.col("hours").alias("Hours"),
        pl.col("action").replace(charts.ACTION_WORDS).alias("What to do"),
    )
    day = st.column_config.DateColumn(format="YYYY-MM-DD")
    dates = {"From": day, "Due": day}
    st.dataframe(table, hide_index=True, alt="Jobs of the month", column_config=dates)
    take_away.table(table, f"jobs-{place.as_of}", what="Jobs")


def _of_month(jobs: pl.DataFrame, month: str) -> pl.DataFrame:
    return jobs.filter(pl.col("on").dt.to_string("%Y-%m") == month)


main()
