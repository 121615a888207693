from pathlib import Path

import access
import amend_form
import choose_machine
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import unit_history
import unit_reads
import unit_words
import words

from fleet import charts
from fleet.flow.one_machine import OneMachine
from fleet.flow.read_aloud import chance_words

_SHEET = "views/sheet.py"


def main() -> None:
    """One machine: when it is due, its lives, its history, its readings, and mending a report."""
    place = shared.open_page(
        "One machine", "All that is known of a machine, from birth to now, and what to do next."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        amend_form.what_happened(place)
        unit = choose_machine.choose(reads.last_reports(place.key))
        if unit is None:
            st.info(
                "Choose a machine: type any part of its name or serial number.",
                icon=":material/search:",
            )
            return
        found = unit_reads.machine(place.key, place.as_of, unit)
        _head(found)
        # The due list takes longest: its place is kept, and filled when all else is there.
        due = st.container()
        unit_history.disagreements(found)
        _lives(found, place)
        unit_history.history(found)
        unit_history.readings(found)
        if access.person().may("log"):
            amend_form.draw(place, found)
        with due:
            _due(found, place)


def _head(found: OneMachine) -> None:
    st.subheader(words.escaped(found.unit), anchor=False)
    st.markdown(" · ".join(f"{label}: **{words.escaped(text)}**" for label, text in found.facts))
    if found.notes and access.person().may("log"):
        st.markdown(f"Notes: {words.escaped(found.notes)}")
    with st.container(horizontal=True):
        here = {"unit": found.unit}
        st.page_link(
            "views/log.py",
            label=f"Log a report on {found.unit}",
            icon=":material/edit_note:",
            query_params=here,
        )
        if (Path(__file__).parent / Path(_SHEET).name).exists():
            st.page_link(
                _SHEET, label="Bench sheet", icon=":material/description:", query_params=here
            )


def _due(found: OneMachine, place: shared.Place) -> None:
    row = unit_reads.due_row(place.key, place.as_of, found.unit)
    with st.container(border=True):
        if row is None:
            st.markdown(found.not_due)
            return
        action = charts.ACTION_WORDS.get(row["action"], row["action"])
        due = "no due date" if row["due_on"] is None else f"due {words.day(row['due_on'])}"
        late = row["overdue_days"]
        if late and late > 0:
            due = f"due since {words.day(row['due_on'])}" if row["due_on"] else due
        st.markdown(f"**{action.capitalize()}**, {due}")
        years = f"{row['horizon_years']:g}"
        st.markdown(
            f"If it works now, {chance_words(row['p_fail'])} that a capacitor fails within "
            f"{years} years; {chance_words(row['p_failed_unseen'])} that it has failed unseen."
        )
        st.markdown(f"{row['reason'][:1].upper()}{row['reason'][1:]}")
        st.page_link("views/due.py", label="The whole due list", icon=":material/event_upcoming:")
    if row["action"] in unit_words.OPENS:
        st.warning(words.CAUTION, icon=":material/electrical_services:")


def _lives(found: OneMachine, place: shared.Place) -> None:
    st.subheader("Its sets of capacitors", anchor=False)
    st.markdown("\n".join(f"- {words.escaped(sentence)}" for sentence in found.said))
    if found.stretches.is_empty():
        return
    chart = charts.draw_machine(found.stretches, found.marks, as_of=place.as_of)
    st.altair_chart(chart, alt=" ".join(found.said))
    st.caption(
        "Each row is one set of capacitors. The thick bar is time in which it was watched and "
        "worked; thin bars are time nobody watched, or nothing was heard; the thinnest, days on "
        "which it may have begun, or on which the machine stood broken. A stroke at a mark covers "
        f"the days it may have been. The dashed line is {words.day(place.as_of)}."
    )
    table = _sets_table(found)
    with st.expander("The same as a table"):
        st.dataframe(table, hide_index=True, placeholder="", alt="Its sets of capacitors, in order")
    take_away.table(table, f"{found.unit}-sets", what="Sets")
    take_away.picture(chart, f"{found.unit}-sets", what="Picture")


def _sets_table(found: OneMachine) -> pl.DataFrame:
    failed = found.failures.group_by("set_no", maintain_order=True).agg(
        pl.format(
            "{} ({})",
            pl.when(pl.col("earliest").is_null() | (pl.col("earliest") == pl.col("latest")))
            .then(pl.col("latest").cast(pl.String))
            .otherwise(pl.format("{} to {}", "earliest", "latest")),
            pl.col("cause").replace("masked", "unknown"),
        )
        .str.join("; ")
        .alias("failed_on")
    )
    sets = found.sets.join(failed, on="set_no", how="left", maintain_order="left")
    began = (
        pl.when(pl.col("started_earliest").is_null())
        .then(pl.lit("not known"))
        .when(pl.col("started_earliest") == pl.col("started_latest"))
        .then(pl.col("started_earliest").cast(pl.String))
        .otherwise(pl.format("{} to {}", "started_earliest", "started_latest"))
    )
    return sets.select(
        pl.col("set_no").alias("Set"),
        pl.col("parts").replace(unit_words.PARTS).alias("Parts"),
        pl.col("batch").alias("Batch"),
        began.alias("Began"),
        pl.col("watched_from").cast(pl.String).fill_null("never").alias("Watched from"),
        pl.col("last_working").cast(pl.String).alias("Last known working"),
        pl.col("failed_on").alias("Failed (cause)"),
        pl.col("ended_on").cast(pl.String).alias("Ended"),
        pl.col("ended_by").replace(unit_words.ENDED).alias("By"),
    )


main()
