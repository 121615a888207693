"""Saving what the form holds, saying what that did, and taking it back."""

from collections.abc import Sequence
from typing import Any

import access
import form
import form_machines
import form_photos
import form_readings
import page_names
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.clashes import Clash
from fleet.flow.entering import log_reports, take_back

_NAMED = 12  # machines of a roll call that are named after it was saved


def save(place: shared.Place, units: Sequence[str], seen: Sequence[str]) -> None:
    """Save what the form holds; whatever goes wrong, the form keeps it."""
    state = st.session_state
    kind = state["log_kind"]
    anyway = bool(state.get("log_anyway"))
    state["log_clash"] = state["log_error"] = state["log_done"] = state["log_taken_back"] = None
    access.need("log")
    try:
        done = log_reports(
            place.store,
            kind,
            units,
            form.fields(kind),
            readings=form_readings.readings(kind) if len(units) == 1 else (),
            photos=form_photos.given() if len(units) == 1 else (),
            today=place.today,
            by=form.who(),
            anyway=anyway,
            seen=[*seen, *state.get("log_seen_too", ())],
        )
    except Clash as clash:
        state["log_clash"] = clash
        return
    except FleetError as error:
        state["log_error"] = str(error)
        return
    state["log_done"] = {
        "what": _what(units, kind),
        "records": (*done.records, *done.photos),
        "reports": done.records,
        "already": done.already_known,
        "notes": done.notes,
        "photos": len(done.photos),
    }
    form.forget_refusals()
    state["log_seen_too"] = ()
    state["log_draft_taken"] = False
    if done.records:
        shared.move_to_today()
    form.clear()
    form_photos.empty()
    form_machines.empty()


def _what(units: Sequence[str], kind: str) -> str:
    named = units[0]
    if len(units) > 1:
        more = ", ..." if len(units) > _NAMED else ""
        named = f"{len(units)} machines ({', '.join(units[:_NAMED])}{more})"
    return f"{named}, {form.text('date')}: {words.KINDS[kind].lower()}"


def what_happened(place: shared.Place) -> None:
    """What the last save or take-back did, until the next one."""
    state = st.session_state
    done: dict[str, Any] | None = state.get("log_done")
    if state.get("log_taken_back"):
        st.success(state["log_taken_back"], icon=":material/undo:")
    if not done:
        return
    what = words.escaped(done["what"])
    if done["already"] and not done["reports"]:
        ids = ", ".join(done["already"])
        st.info(f"{what}: the store had this report already, as `{ids}`. Nothing was added.")
        return
    ids = done["reports"]
    records = f"Its record is `{ids[0]}`." if len(ids) == 1 else f"{len(ids)} records were kept."
    photos = f" With {words.counted(done['photos'], 'photo')}." if done["photos"] else ""
    with st.container(border=True):
        st.success(f"Recorded: {what}. {records}{photos}", icon=":material/check:")
        for note in done["notes"]:
            st.caption(f":material/info: {words.escaped(page_names.instead_of_commands(note))}")
        st.button(
            "Take it back" if len(ids) == 1 else "Take them back",
            icon=":material/undo:",
            on_click=_take_back,
            args=(place,),
            key="log_take_back",
            help="It stays in the store as taken back, and counts no more.",
        )


def _take_back(place: shared.Place) -> None:
    access.need("log")
    state = st.session_state
    done = state["log_done"]
    try:
        take_back(place.store, done["records"], today=place.today, by=form.who())
    except FleetError as error:
        state["log_error"] = str(error)
        return
    count = len(done["records"])
    state["log_taken_back"] = (
        f"Taken back: {done['records'][0]} counts no more."
        if count == 1
        else f"Taken back: {count} records count no more."
    )
    state["log_done"] = None
