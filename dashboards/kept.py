"""A record entered on a page: kept or refused in a sentence, and the way to take it back."""

from collections.abc import Callable

import access
import page_names
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.entering import Entered, take_back


def keep(place: shared.Place, name: str, text: str, save: Callable[[], Entered]) -> bool:
    """Call `save` for somebody who may log; whether something was kept.

    What happened is held under `name` (a form of the page) until `said` shows it; `text` says what
    was kept. For callbacks: the as-of date moves to today, so that the record is seen.
    """
    access.need("log")
    state = st.session_state
    forget(name)
    try:
        done = save()
    except FleetError as error:
        refuse(name, page_names.instead_of_commands(str(error), amend="Parts"))
        return False
    state[f"{name}_done"] = {"records": done.records, "text": text, "notes": done.notes}
    if done.records:
        shared.move_to_today()
    return True


def refuse(name: str, why: str) -> None:
    """Nothing was kept, and why."""
    forget(name)
    st.session_state[f"{name}_error"] = why


def forget(name: str) -> None:
    """Say no more of the last one."""
    for what in ("error", "taken_back", "done"):
        st.session_state[f"{name}_{what}"] = None


def said(place: shared.Place, name: str, *, undo: str, undone: str) -> None:
    """What happened last; `undo` is on the button that takes it back, `undone` what that did."""
    state = st.session_state
    if state.get(f"{name}_error"):
        st.error(state[f"{name}_error"], icon=":material/error:")
    if state.get(f"{name}_taken_back"):
        st.success(state[f"{name}_taken_back"], icon=":material/undo:")
    done = state.get(f"{name}_done")
    if not done:
        return
    if not done["records"]:
        st.info("The store had this already. Nothing was added.")
        return
    records = ", ".join(done["records"])
    st.success(
        f"Kept: {words.escaped(done['text'])} (record `{records}`).", icon=":material/check:"
    )
    for note in done["notes"]:
        st.caption(f":material/info: {page_names.instead_of_commands(note, amend='Parts')}")
    st.button(
        undo,
        icon=":material/undo:",
        on_click=_take_back,
        args=(place, name, undone),
        key=f"{name}_undo",
    )


def _take_back(place: shared.Place, name: str, undone: str) -> None:
    access.need("log")
    records = st.session_state[f"{name}_done"]["records"]
    try:
        take_back(place.store, records, today=place.today, by=access.signed_by())
    except FleetError as error:
        refuse(name, str(error))
        return
    forget(name)
    st.session_state[f"{name}_taken_back"] = undone
