"""A report while it is typed: what the form holds, what is kept and what is emptied."""

from collections.abc import Mapping
from typing import Any

import access
import address
import streamlit as st
import words

OFTEN_KEPT = ("date", "by")  # the next machine of a roll call has the same
_EMPTIED = frozenset(field for names in words.FIELDS.values() for field in names) | {
    "other_positions",
    "notes",
    "readings",
}
_BLANK: Mapping[str, object] = {
    "cause": None,
    "positions": [],
    "batch": None,
    "found_dead": False,
}
FIELDS = (*OFTEN_KEPT, *sorted(_EMPTIED))


def key(field: str) -> str:
    """The session key that holds what was typed in a field."""
    return f"log_{field}"


def text(field: str) -> str:
    """What was typed in a field, without blanks around it."""
    return str(st.session_state.get(key(field)) or "").strip()


def who() -> str | None:
    """Whoever is signed in, else the name that was typed."""
    return access.signed_by() or text("by") or None


def positions() -> list[str]:
    """Places tapped, then places typed."""
    tapped = st.session_state.get(key("positions")) or ()
    typed = text("other_positions").replace(",", ";").replace(" ", ";").split(";")
    return list(dict.fromkeys([*tapped, *(name for name in typed if name)]))


def fields(kind: str) -> dict[str, str]:
    """The report as record columns and their text; only fields that the kind asks for."""
    state = st.session_state
    out = {"date": text("date")}
    for field in words.FIELDS[kind]:
        if field == "found_dead":
            out[field] = "yes" if state.get(key(field)) else ""
        elif field == "positions":
            out[field] = ";".join(positions())
        else:
            out[field] = text(field)
    return {name: value for name, value in {**out, "notes": text("notes")}.items() if value}


def clear() -> None:
    """Empty the form after a save, but for what the next report is likely to share."""
    for field in _EMPTIED:
        # Set, not forgotten: a browser goes on showing what it holds until it is told otherwise.
        if key(field) in st.session_state:
            st.session_state[key(field)] = _BLANK.get(field, "")
    st.session_state["log_taken_back"] = None


def held() -> dict[str, Any]:
    """What the form holds that is not blank, for a draft."""
    values = {field: st.session_state.get(key(field)) for field in FIELDS}
    return {field: value for field, value in values.items() if value}


def take_up(draft: Mapping[str, object]) -> None:
    """Fill the form with a draft; what cannot be of a field is left out."""
    for field, value in draft.items():
        of_its_sort = (
            isinstance(value, list) and all(isinstance(one, str) for one in value)
            if field == "positions"
            else isinstance(value, bool if field == "found_dead" else str)
        )
        # What it holds already is not set again: that would write over what is just being typed.
        if field in FIELDS and of_its_sort and st.session_state.get(key(field)) != value:
            st.session_state[key(field)] = value


def hold_draft() -> None:
    """Set every field again to what it holds.

    A field drawn for the first time on a page, or again after another kind of report was chosen,
    returns its default on that run unless its value was set. Not done on every run: it would
    write over what is just being typed.
    """
    for name in FIELDS:
        if key(name) in st.session_state:
            st.session_state[key(name)] = st.session_state[key(name)]


def choose_kind() -> str | None:
    """What kind of report, in plain words; None until one is tapped. Kept in the address."""
    kept = address.choice("log_kind", list(words.KINDS), None)
    chosen = st.pills(
        "What happened",
        list(words.KINDS),
        required=True,
        format_func=lambda k: words.KINDS[k],
        **{**kept, "on_change": _kind_chosen, "args": ()},
    )
    return None if chosen is None else str(chosen)


def _kind_chosen() -> None:
    address.write("log_kind")
    if st.session_state.get("log_kind") == "failed" and not text("cause"):
        st.session_state[key("cause")] = None  # of a failure it is asked, not taken for granted
    hold_draft()
    forget_refusals()


def forget_refusals() -> None:
    """What was refused is about what the form held then."""
    for name in ("log_clash", "log_error", "log_correct"):
        st.session_state[name] = None
    st.session_state["log_anyway"] = False
