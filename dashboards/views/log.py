from collections.abc import Mapping

import access
import form
import form_readings
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.errors import Conflict, FleetError
from fleet.flow.entering import log_reports, take_back

_HISTORY = 6


def main() -> None:
    """Log one report about one machine."""
    place = shared.open_page("Log a report", "What somebody saw, and when. It is kept for good.")
    with shared.sentences():
        last = reads.last_reports(place.key)
        if last.is_empty():
            shared.say_nothing_yet()
            return
        if place.arrived:
            form.hold_draft()
        _what_happened(place)
        unit = form.choose_unit(last)
        if unit is None:
            st.info("Choose a machine: type any part of its name.", icon=":material/search:")
            return
        model = last.filter(unit=unit)["model"][0]
        kind = form.choose_kind()
        if kind in words.OPENS_THE_MACHINE:
            st.warning(words.CAUTION, icon=":material/electrical_services:")
        ready = form.ask(kind, place, model)
        ready &= form_readings.ask(kind, place, model)
        conflict = st.session_state.get("log_conflict")
        if conflict:
            st.error(conflict, icon=":material/error:")
            st.checkbox("Keep both, flagged", key="log_anyway")
        elif st.session_state.get("log_error"):
            st.error(st.session_state["log_error"], icon=":material/error:")
        st.button(
            "Save the report",
            type="primary",
            icon=":material/save:",
            disabled=not ready,
            on_click=_save,
            args=(place,),
            key="log_save",
        )
        _history(place, unit)


def _save(place: shared.Place) -> None:
    """Save what the form holds; whatever goes wrong, the form keeps it."""
    state = st.session_state
    unit, kind = state["unit"], state["log_kind"]
    anyway = bool(state.get("log_anyway"))
    state["log_conflict"] = state["log_error"] = None
    access.need("log")
    try:
        done = log_reports(
            place.store,
            kind,
            [unit],
            form.fields(kind),
            readings=form_readings.readings(kind),
            today=place.today,
            by=_who(),
            anyway=anyway,
        )
    except Conflict as error:
        state["log_conflict"] = str(error)
        return
    except FleetError as error:
        state["log_error"] = str(error)
        return
    state["log_done"] = {
        "unit": unit,
        "kind": kind,
        "date": form.text("date"),
        "records": done.records,
        "already": done.already_known,
        "notes": done.notes,
    }
    state["log_anyway"] = False
    if done.records:
        shared.move_to_today()
    form.clear()


def _what_happened(place: shared.Place) -> None:
    """What the last save or take-back did, until the next one."""
    done: Mapping[str, object] | None = st.session_state.get("log_done")
    taken = st.session_state.get("log_taken_back")
    if taken:
        st.success(taken, icon=":material/undo:")
    if not done:
        return
    what = f"{done['unit']}, {done['date']}: {words.KINDS[str(done['kind'])].lower()}"
    if done["already"]:
        ids = ", ".join(done["already"])  # type: ignore[arg-type]
        st.info(f"{what}: the store had this report already, as `{ids}`. Nothing was added.")
        return
    ids = ", ".join(done["records"])  # type: ignore[arg-type]
    with st.container(border=True):
        st.success(f"Recorded: {what}. Its record is `{ids}`.", icon=":material/check:")
        for note in done["notes"]:  # type: ignore[attr-defined]
            st.caption(f":material/info: {note}")
        st.button(
            "Take it back",
            icon=":material/undo:",
            on_click=_take_back,
            args=(place,),
            key="log_take_back",
            help="It stays in the store as taken back, and counts no more.",
        )


def _who() -> str | None:
    """Whoever is signed in, else the name that was typed."""
    return access.signed_by() or form.text("by") or None


def _take_back(place: shared.Place) -> None:
    access.need("log")
    state = st.session_state
    done = state["log_done"]
    try:
        take_back(place.store, done["records"], today=place.today, by=_who())
    except FleetError as error:
        state["log_error"] = str(error)
        return
    state["log_taken_back"] = f"Taken back: {', '.join(done['records'])} counts no more."
    state["log_done"] = None


def _history(place: shared.Place, unit: str) -> None:
    st.subheader(f"Last reports on {unit}", anchor=False)
    reports = reads.records(place.key, "reports").filter(unit=unit)
    if reports.is_empty():
        st.markdown("None yet.")
        return
    newest = reports.sort("date_latest", "entered_on", "record", descending=True).head(_HISTORY)
    st.dataframe(
        newest.select(
            pl.col("date").alias("Date"),
            pl.col("kind").replace(words.KINDS).alias("What"),
            pl.col("cause").alias("Cause"),
            pl.when("cured")
            .then(pl.lit("yes"))
            .when(~pl.col("cured"))
            .then(pl.lit("no"))
            .alias("Cured"),
            pl.col("positions").alias("Positions"),
            pl.coalesce("symptom", "notes").alias("Symptom or notes"),
            pl.col("by").alias("By"),
            pl.col("record").alias("Record"),
        ),
        hide_index=True,
        placeholder="",
        alt=f"Last reports on {unit}, newest first",
    )


main()
