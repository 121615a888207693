"""What stands against a report that is being saved: both versions side by side, and the choices."""

from collections.abc import Mapping, Sequence

import amend_form
import form
import log_save
import page_names
import polars as pl
import record_words
import shared
import streamlit as st
import words

from fleet.flow.clashes import Clash, Told

_REPORT = ("kind", "date", "last_known_working", "cause", "because", "positions", "batch",
           "symptom", "found_dead", "cured", "notes")  # fmt: skip
_MACHINE = ("manufactured", "enrolled_on")


def draw(place: shared.Place, units: Sequence[str], kind: str, seen: Sequence[str]) -> None:
    """Nothing where nothing stands against it."""
    state = st.session_state
    clash: Clash | None = state.get("log_clash")
    if clash is None:
        if state.get("log_error"):
            said = page_names.instead_of_commands(state["log_error"])
            st.error(words.escaped(said), icon=":material/error:")
        return
    said = words.escaped(page_names.instead_of_commands(str(clash)))
    said = said[:1].upper() + said[1:]
    with st.container(border=True):
        if clash.meanwhile:
            st.warning(f"Nothing is saved yet: {said}.", icon=":material/group:")
        else:
            st.error(f"Nothing is saved yet: {said}.", icon=":material/error:")
        typed = {**form.fields(kind), "kind": kind}
        for told in clash.against:
            _side_by_side(typed, told)
        _choices(place, units, clash, seen)
        if state.get("log_correct"):
            amend_form.correct(place, state["log_correct"], done=form.forget_refusals)


def _side_by_side(typed: Mapping[str, str], told: Told) -> None:
    names = _REPORT if told.kind == "reports" else _MACHINE
    mine = typed if told.kind == "reports" else {}
    rows = [
        (
            record_words.label(name),
            record_words.said(name, mine.get(name, "")),
            record_words.said(name, told.columns.get(name, "")),
        )
        for name in names
        if mine.get(name) or told.columns.get(name)
    ]
    if told.kind != "reports":
        rows.append(("Date", typed.get("date", ""), ""))
    rows += [("By", form.who() or "", told.by), ("Record", "not saved yet", told.record)]
    st.table(
        pl.DataFrame(
            [tuple(words.escaped(cell) for cell in row) for row in rows],
            schema=["What", "Typed now", "On record"],
            orient="row",
        ),
        border="horizontal",
    )


def _choices(place: shared.Place, units: Sequence[str], clash: Clash, seen: Sequence[str]) -> None:
    with st.container(horizontal=True):
        st.button(
            "Save mine as well" if clash.meanwhile else "Keep both, flagged",
            icon=":material/save:",
            key="log_keep_both",
            on_click=_keep_both,
            args=(place, units, seen),
            help="Both stay on record."
            if clash.meanwhile
            else "Both stay on record, flagged, and out of the lives until one is corrected.",
        )
        st.button(
            "Change mine",
            icon=":material/edit:",
            key="log_change_mine",
            on_click=form.forget_refusals,
            help="Back to the form; it holds what was typed.",
        )
        for told in clash.against:
            st.button(
                f"Correct theirs ({told.record})" if len(clash.against) > 1 else "Correct theirs",
                icon=":material/edit_note:",
                key=f"log_correct_{told.record}",
                on_click=_correct,
                args=(told.record,),
            )
        if clash.meanwhile:
            st.button(
                "Leave mine out",
                icon=":material/close:",
                key="log_leave_mine",
                on_click=_leave_mine,
            )


def _keep_both(place: shared.Place, units: Sequence[str], seen: Sequence[str]) -> None:
    state = st.session_state
    clash: Clash = state["log_clash"]
    if clash.meanwhile:
        state["log_seen_too"] = [
            *state.get("log_seen_too", ()),
            *(told.record for told in clash.against),
        ]
    else:
        state["log_anyway"] = True
    log_save.save(place, units, seen)


def _correct(record: str) -> None:
    st.session_state["log_correct"] = record


def _leave_mine() -> None:
    form.clear()
    form.forget_refusals()
