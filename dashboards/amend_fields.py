"""The fields of a record that is being corrected, and what was changed in them."""

from collections.abc import Mapping

import form_date
import record_words
import shared
import streamlit as st

from fleet.flow.clashes import Told

_DATES = ("date", "last_known_working", "manufactured", "enrolled_on")


def names_of(told: Told) -> list[str]:
    """The columns that can be corrected."""
    return list(record_words.OF_A_MACHINE if told.kind == "units" else record_words.OF_A_REPORT)


def key(record: str, name: str) -> str:
    """The session key that holds what was typed for a column of a record."""
    return f"amend_{record}_{name}"


def changes(told: Told) -> dict[str, str]:
    """What was typed that differs from the record as it was shown."""
    out = {}
    for name in names_of(told):
        typed = st.session_state.get(key(told.record, name))
        old = told.columns.get(name, "")
        if typed is not None and str(typed).strip() != old:
            out[name] = str(typed).strip()
    return out


def named(changed: Mapping[str, str]) -> str:
    """The changed columns in a list, as a person reads them."""
    return ", ".join(record_words.label(name).lower() for name in changed)


def forget(record: str) -> None:
    """Empty the fields of a record."""
    for name in record_words.LABELS:
        st.session_state.pop(key(record, name), None)


def ask(told: Told, place: shared.Place) -> bool:
    """Draw the fields; whether what they hold can be saved.

    What was typed outlives the fold that they stand in.
    """
    ready = True
    names = [name for name in names_of(told) if name != "notes"]
    cells = [cell for _ in range(0, len(names), 2) for cell in st.columns(2)]
    for name, cell in zip(names, cells, strict=False):
        with cell:
            typed = _ask(told, name)
            if name in _DATES:
                ready &= form_date.read_back(typed, place.today, needed=name == "date")
    notes = key(told.record, "notes")
    st.session_state.setdefault(notes, told.columns.get("notes", ""))
    st.text_area("Notes", key=notes, persist_state="session", height=80)
    return ready


def _ask(told: Told, name: str) -> str:
    held, old = key(told.record, name), told.columns.get(name, "")
    if name in record_words.CHOICES:
        told_by = record_words.CHOICES[name]
        choices = [c for c in told_by if c or name != "kind"]
        if name == "cause" and old != "unknown":
            choices.remove("unknown")
        st.session_state.setdefault(held, old if old in choices else choices[0])
        return str(
            st.selectbox(
                record_words.LABELS[name],
                choices,
                format_func=told_by.__getitem__,
                key=held,
                persist_state="session",
            )
        )
    st.session_state.setdefault(held, old)
    return st.text_input(
        record_words.LABELS[name], key=held, persist_state="session", live="300ms"
    ).strip()
