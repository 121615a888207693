"""Correcting what is known of a machine, or a report on it; nothing is overwritten."""

from collections.abc import Callable, Mapping

import access
import address
import amend_clash
import amend_fields
import page_names
import reads
import shared
import streamlit as st
import unit_words
import words

from fleet.errors import FleetError
from fleet.flow.clashes import Clash
from fleet.flow.entering import amend_record, take_back
from fleet.flow.one_machine import OneMachine


def what_happened(place: shared.Place) -> None:
    """What the last correction did, and its undo."""
    state = st.session_state
    if state.get("amend_error"):
        said = page_names.instead_of_commands(state["amend_error"])
        st.error(words.escaped(said), icon=":material/error:")
    done = state.get("amend_done")
    if not done:
        return
    with st.container(border=True):
        st.success(done["said"], icon=":material/check:")
        for note in done["notes"]:
            st.caption(f":material/info: {words.escaped(page_names.instead_of_commands(note))}")
        if done["undo"]:
            st.button(
                "Undo the correction",
                icon=":material/undo:",
                key="amend_undo",
                on_click=_undo,
                args=(place,),
                help="It counts again as it was; the correction stays in the history.",
            )


def draw(place: shared.Place, found: OneMachine) -> None:
    """Choose the machine's own record or a report, change what it says, save the correction."""
    reports = reads.records(place.key, "reports").filter(unit=found.unit)
    own = reads.records(place.key, "units").filter(unit=found.unit)
    state = st.session_state
    labels = {record: f"what is known of the machine · {record}" for record in own["record"]} | {
        record: f"{date} · {unit_words.WHAT.get(kind, kind)} · {record}"
        for record, date, kind in reports.sort(
            "date_latest", "record", descending=True, nulls_last=True
        )
        .select("record", "date", "kind")
        .iter_rows()
    }
    amend_clash.notice_vanished(place, state.get("amend_record"), labels)
    if state.get("amend_record") not in labels:
        state["amend_record"] = None
    amend_clash.draw(place, save=_save_to, leave=_leave)
    box = st.expander(
        "Correct the machine's details or a report",
        icon=":material/edit:",
        **address.opened("show_correct"),
    )
    if not box.open:
        return
    with box:
        st.markdown(
            "Nothing is overwritten: what was corrected stays in the history, and the correction "
            "can be undone."
        )
        record = st.selectbox(
            "What to correct",
            list(labels),
            index=None,
            format_func=lambda r: labels.get(r, str(r)),
            key="amend_record",
            persist_state="session",
            placeholder="choose one",
            filter_mode="contains",
        )
        if record is not None:
            correct(place, str(record), may_take_back=record not in set(own["record"]))


def correct(
    place: shared.Place,
    record: str,
    *,
    may_take_back: bool = False,
    done: Callable[[], None] | None = None,
) -> None:
    """The fields of one record, and the buttons to save what was changed in them.

    `done`: called after the correction was saved. NotKnown where there is no such record.
    """
    told = amend_clash.was(place, record)
    ready = amend_fields.ask(told, place)
    if access.signed_by() is None:
        st.text_input(
            "Who corrects it",
            key="amend_by",
            persist_state="session",
            placeholder="a name or initials",
            autocomplete="name",
        )
    with st.container(horizontal=True):
        st.button(
            "Save the correction",
            type="primary",
            icon=":material/save:",
            disabled=not (ready and amend_fields.changes(told)),
            key="amend_save",
            on_click=_save,
            args=(place, record, done),
        )
        if may_take_back:
            st.button(
                "Take this report back",
                icon=":material/undo:",
                key="amend_take_back",
                on_click=_withdraw,
                args=(place, record),
                help="It stays in the history as taken back, and counts no more.",
            )


def _who() -> str | None:
    return access.signed_by() or str(st.session_state.get("amend_by") or "").strip() or None


def _save(place: shared.Place, record: str, done: Callable[[], None] | None) -> None:
    told = amend_clash.was(place, record)
    if _save_to(place, record, amend_fields.changes(told)) and done is not None:
        done()


def _save_to(place: shared.Place, record: str, changes: Mapping[str, str]) -> bool:
    """Correct a record; whether it was. What stands against it is shown beside what was typed."""
    access.need("log")
    state = st.session_state
    state["amend_error"] = None
    try:
        done = amend_record(place.store, record, changes, today=place.today, by=_who())
    except Clash as clash:
        amend_clash.hold(place, record, changes, clash.against[0])
        return False
    except FleetError as error:
        state["amend_error"] = str(error)
        return False
    ids = ", ".join(done.records) or "the store had it already"
    state["amend_done"] = {
        "said": f"Corrected {record} ({amend_fields.named(changes)}): the correction is {ids}.",
        "undo": list(done.records),
        "notes": done.notes,
    }
    _close(record)
    return True


def _withdraw(place: shared.Place, record: str) -> None:
    access.need("log")
    state = st.session_state
    state["amend_error"] = None
    try:
        take_back(place.store, [record], today=place.today, by=_who())
    except FleetError as error:
        state["amend_error"] = str(error)
        return
    state["amend_done"] = {
        "said": f"Taken back: {record} counts no more. To have it again, log it again.",
        "undo": [],
        "notes": (),
    }
    _close(record)


def _leave(record: str) -> None:
    st.session_state["amend_error"] = None
    _close(record)


def _close(record: str) -> None:
    """Close the form and show what is known today, as an earlier day hides what was entered."""
    st.session_state["amend_record"] = None
    address.put("show_correct", False)
    amend_clash.forget(record)
    shared.move_to_today()


def _undo(place: shared.Place) -> None:
    access.need("log")
    state = st.session_state
    done = state["amend_done"]
    state["amend_error"] = None
    try:
        take_back(place.store, done["undo"], today=place.today, by=_who())
    except FleetError as error:
        state["amend_error"] = str(error)
        return
    state["amend_done"] = {
        "said": f"Undone: {', '.join(done['undo'])} counts no more, what it corrected does.",
        "undo": [],
        "notes": (),
    }
