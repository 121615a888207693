"""Two people correcting one record: the second sees what the first made of it, and decides."""

from collections.abc import Callable, Collection, Mapping

import amend_fields
import polars as pl
import record_words
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.clashes import Told, corrected_by, tell

_Save = Callable[[shared.Place, str, Mapping[str, str]], bool]


def was(place: shared.Place, record: str) -> Told:
    """The record as it was when its correction was begun."""
    shown = st.session_state.setdefault("amend_was", {})
    if record not in shown:
        shown[record] = tell(place.store, record)
    told: Told = shown[record]
    return told


def forget(record: str) -> None:
    """A correction that was saved or left."""
    st.session_state.setdefault("amend_was", {}).pop(record, None)
    st.session_state["amend_clash"] = None
    amend_fields.forget(record)


def hold(place: shared.Place, record: str, changes: Mapping[str, str], theirs: Told) -> None:
    """Keep what was typed, to be shown beside what somebody else saved."""
    st.session_state["amend_clash"] = (was(place, record), dict(changes), theirs)


def notice_vanished(place: shared.Place, record: str | None, standing: Collection[str]) -> None:
    """Where the record that is being corrected stands no more, keep what was typed."""
    if record is None or record in standing or record not in st.session_state.get("amend_was", {}):
        return
    old = was(place, record)
    typed = amend_fields.changes(old)
    try:
        theirs = corrected_by(place.store, record)
    except FleetError:
        return
    if theirs is not None and typed:
        hold(place, record, typed, theirs)
    else:
        forget(record)


def draw(place: shared.Place, *, save: _Save, leave: Callable[[str], None]) -> None:
    """The record as it was, theirs and mine, column by column, and what can be done."""
    clash = st.session_state.get("amend_clash")
    if not clash:
        return
    old, mine, theirs = clash
    with st.container(border=True):
        st.warning(
            f"Nothing is saved yet: {old.record} was corrected meanwhile by "
            f"{words.escaped(theirs.by) or 'somebody'}. See both, then decide.",
            icon=":material/group:",
        )
        st.table(_versions(old, mine, theirs), border="horizontal")
        with st.container(horizontal=True):
            st.button(
                "Make my changes to theirs",
                icon=":material/save:",
                key="amend_on_theirs",
                on_click=_make,
                args=(place, old.record, theirs.record, mine, save),
                help="Theirs stays in the history; where both changed the same, mine counts.",
            )
            st.button(
                "Leave theirs",
                icon=":material/close:",
                key="amend_leave_theirs",
                on_click=leave,
                args=(old.record,),
            )


def _versions(old: Told, mine: Mapping[str, str], theirs: Told) -> pl.DataFrame:
    rows = []
    for name in amend_fields.names_of(old):
        before, now = old.columns.get(name, ""), theirs.columns.get(name, "")
        if name in mine or before != now:
            shown = (before, now, mine.get(name, before))
            rows.append(
                (
                    record_words.label(name),
                    *(words.escaped(record_words.said(name, text)) for text in shown),
                )
            )
    rows.append(("Record", old.record, theirs.record, "not saved yet"))
    return pl.DataFrame(rows, schema=["What", "As it was", "Theirs", "Mine"], orient="row")


def _make(
    place: shared.Place, was_record: str, theirs: str, mine: Mapping[str, str], save: _Save
) -> None:
    if save(place, theirs, mine):
        forget(was_record)
