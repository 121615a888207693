"""Correcting what is known of a machine, or a report on it; nothing is overwritten."""

from collections.abc import Mapping

import access
import polars as pl
import reads
import shared
import streamlit as st
import unit_words
import words

from fleet.errors import FleetError
from fleet.flow.entering import amend_record, read_date, take_back
from fleet.flow.one_machine import OneMachine

_DATES = ("date", "last_known_working", "manufactured", "enrolled_on")
_CHOICES: Mapping[str, Mapping[str, str]] = {
    "cause": {**words.CAUSES, "unknown": "not known"},
    "because": words.BECAUSE,
    "kind": words.KINDS,
    "found_dead": {"": "not said", "yes": "yes", "no": "no"},
    "cured": {"": "not said", "yes": "yes", "no": "no"},
    "enrolled_because": {"": "not said", "working": "it worked", "failed": "it had failed"},
}
_OF_A_MACHINE = {
    "model": "Model",
    "serial": "Serial number",
    "manufactured": "Built",
    "batch": "Factory batch",
    "enrolled_on": "In these records since",
    "enrolled_because": "Because",
    "site": "Site",
    "source": "Source",
    "hours_per_year": "Hours in use a year",
    "ambient_c": "Room (°C)",
    "notes": "Notes",
}
_OF_A_REPORT = {
    "kind": "What happened",
    "date": "Date",
    "last_known_working": "Last known working",
    "cause": "Cause",
    "because": "Why",
    "positions": "Positions (joined by ;)",
    "batch": "Batch of the parts fitted",
    "symptom": "Symptom",
    "found_dead": "Found dead",
    "cured": "It worked afterwards",
    "notes": "Notes",
}


_LABELS = {**_OF_A_MACHINE, **_OF_A_REPORT}


def what_happened(place: shared.Place) -> None:
    """What the last correction did, and its undo."""
    state = st.session_state
    if state.get("amend_error"):
        st.error(state["amend_error"], icon=":material/error:")
    done = state.get("amend_done")
    if not done:
        return
    with st.container(border=True):
        st.success(done["said"], icon=":material/check:")
        for note in done["notes"]:
            st.caption(f":material/info: {note}")
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
    if state.get("amend_record") not in labels:
        state["amend_record"] = None
    with st.expander(
        "Correct the machine's details or a report",
        icon=":material/edit:",
        expanded=bool(state.get("amend_open")),
    ):
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
            placeholder="choose one",
            filter_mode="contains",
        )
        if record is None:
            return
        of_machine = record in set(own["record"])
        row = (own if of_machine else reports).filter(record=record)
        old = _as_typed(row, _OF_A_MACHINE if of_machine else _OF_A_REPORT)
        changes, ready = _fields(str(record), old, place)
        _buttons(place, str(record), changes, ready=ready, may_take_back=not of_machine)


def _as_typed(row: pl.DataFrame, fields: Mapping[str, str]) -> dict[str, str]:
    """What a record says in each field, as it would be typed."""
    return {name: _typed(row[name][0]) for name in fields}


def _typed(value: str | float | bool | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return value or ""


def _fields(
    record: str, old: Mapping[str, str], place: shared.Place
) -> tuple[dict[str, str], bool]:
    """What differs from the report as it is, and whether it can be saved."""
    changes: dict[str, str] = {}
    ready = True
    names = [name for name in old if name != "notes"]
    cells = [cell for _ in range(0, len(names), 2) for cell in st.columns(2)]
    for name, cell in zip(names, cells, strict=False):
        with cell:
            typed = _ask(record, name, old[name])
            if name in _DATES:
                ready &= _check_date(typed, place, needed=name == "date")
        if typed != old[name]:
            changes[name] = typed
    notes = st.text_area("Notes", value=old["notes"], key=f"amend_{record}_notes", height=80)
    if notes.strip() != old["notes"]:
        changes["notes"] = notes.strip()
    return changes, ready


def _ask(record: str, name: str, old: str) -> str:
    key = f"amend_{record}_{name}"
    if name in _CHOICES:
        choices = [c for c in _CHOICES[name] if c or name != "kind"]
        if name == "cause" and old != "unknown":
            choices.remove("unknown")
        st.session_state.setdefault(key, old if old in choices else choices[0])
        chosen = st.selectbox(
            _LABELS[name], choices, format_func=lambda c: _CHOICES[name][c], key=key
        )
        return str(chosen)
    st.session_state.setdefault(key, old)
    return st.text_input(_LABELS[name], key=key, live="300ms").strip()


def _check_date(typed: str, place: shared.Place, *, needed: bool) -> bool:
    if not typed:
        if needed:
            st.caption(":material/error: :red[A date is needed; a year is enough.]")
        return not needed
    earliest, latest, wrong = read_date(typed)
    if wrong:
        st.caption(f":material/error: :red[{wrong}]")
        return False
    if earliest is not None and earliest > place.today:
        st.caption(":material/error: :red[That day is still to come; reports are of the past.]")
        return False
    st.caption(f":material/check: that is {words.day_range(earliest, latest)}")
    return True


def _buttons(
    place: shared.Place,
    record: str,
    changes: Mapping[str, str],
    *,
    ready: bool,
    may_take_back: bool,
) -> None:
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
            disabled=not (ready and changes),
            key="amend_save",
            on_click=_save,
            args=(place, record, dict(changes)),
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


def _save(place: shared.Place, record: str, changes: Mapping[str, str]) -> None:
    access.need("log")
    state = st.session_state
    state["amend_error"] = None
    try:
        done = amend_record(place.store, record, changes, today=place.today, by=_who())
    except FleetError as error:
        state["amend_error"] = str(error)
        return
    what = ", ".join(_LABELS[name].split(" (")[0].lower() for name in changes)
    ids = ", ".join(done.records) or "the store had it already"
    state["amend_done"] = {
        "said": f"Corrected {record} ({what}): the correction is {ids}.",
        "undo": list(done.records),
        "notes": done.notes,
    }
    _close(record)


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


def _close(record: str) -> None:
    """Close the form and show what is known today, as an earlier day hides what was entered."""
    state = st.session_state
    state["amend_record"] = None
    state["amend_open"] = False
    for name in _LABELS:
        state.pop(f"amend_{record}_{name}", None)
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
