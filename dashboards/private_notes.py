"""The owner's private notes on one machine, for those who may see them."""

import access
import address
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.private_notes import MOST, may_see, private_notes, write_private_notes

_SAID = "private_said"


def draw(place: shared.Place, unit: str) -> None:
    """The notes and a form to change them; nothing at all for somebody who may only read.

    What is typed stays while the page is open, and is never in the address.
    """
    if not may_see(access.person()):
        return
    kept = private_notes(place.store, unit, access.person())
    label = "Private notes" if kept else "Private notes (none yet)"
    said = st.session_state.pop(_SAID, None)
    if said:
        address.put("show_private", True)
    # Drawn while it is closed too: what was typed and not saved is nowhere but in the field.
    with st.expander(label, icon=":material/lock:", **address.opened("show_private")):
        st.caption(
            "Seen by those who may log, never by those who may only read. In no export, report, "
            "sheet or download; a backup keeps them."
        )
        with st.form(f"private_form_{unit}", border=False):
            st.text_area("Notes", value=kept, max_chars=MOST, key=_key(unit, kept), height=120)
            st.form_submit_button(
                "Save the private notes",
                icon=":material/save:",
                on_click=_save,
                args=(place, unit, kept),
            )
        if said:
            fine, text = said
            (st.success if fine else st.error)(words.escaped(text))


def _key(unit: str, kept: str) -> str:
    """A field of its own for each version, so that a new one is shown once it is saved."""
    return f"private_{unit}_{hash(kept)}"


def _save(place: shared.Place, unit: str, kept: str) -> None:
    access.need("log")
    typed = str(st.session_state.get(_key(unit, kept)) or "")
    try:
        done = write_private_notes(place.store, unit, typed, access.person(), today=place.today)
    except FleetError as error:
        st.session_state[_SAID] = (False, str(error))
        return
    what = "Kept" if typed.strip() else "Removed"
    st.session_state[_SAID] = (True, f"{what}: record {', '.join(done.records)}.")
