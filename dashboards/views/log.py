from collections.abc import Sequence

import form
import form_draft
import form_fields
import form_machines
import log_clash
import log_history
import log_reads
import log_save
import polars as pl
import reads
import shared
import streamlit as st
import words


def main() -> None:
    """Log a report about one machine, or the same about several."""
    place = shared.open_page(
        "Log a report", "What somebody saw, and when. It is kept for good.", dated=False
    )
    with shared.sentences():
        machines = reads.last_reports(place.key)
        if machines.is_empty():
            shared.say_nothing_yet()
            return
        if place.arrived:
            form.hold_draft()
            st.session_state.pop("log_more", None)
        form_draft.keep()
        log_save.what_happened(place)
        units = form_machines.choose(machines)
        if not units:
            st.info(
                "Choose a machine: type any part of its name or serial number.",
                icon=":material/search:",
            )
            return
        models = machines.filter(pl.col("unit").is_in(units))["model"].unique().sort().to_list()
        _report(place, units, models)


def _report(place: shared.Place, units: Sequence[str], models: Sequence[str]) -> None:
    on_record = log_reads.reports_on(place.key, tuple(units))
    seen = _seen(units, on_record)
    kind = form.choose_kind()
    if kind is not None:
        if kind in words.OPENS_THE_MACHINE:
            shared.caution()
        lacks = form_fields.ask(kind, place, units, models)
        log_clash.draw(place, units, kind, seen)
        about = units[0] if len(units) == 1 else f"{len(units)} machines"
        st.button(
            f"Save the report on {words.escaped(about)}",
            type="primary",
            icon=":material/save:",
            disabled=bool(lacks),
            on_click=log_save.save,
            args=(place, units, seen),
            key="log_save",
            width="stretch",
        )
        if lacks:
            st.caption(f":material/block: Cannot be saved yet: {'; '.join(lacks)}.")
    if len(units) == 1:
        log_history.draw(place.key, units[0], on_record)


def _seen(units: Sequence[str], on_record: pl.DataFrame) -> list[str]:
    """The reports there were when these machines were chosen, or when something was last saved:
    what came since was saved by somebody else while this was typed.
    """
    state = st.session_state
    ours = (state.get("log_done") or {}).get("records"), state.get("log_taken_back")
    if state.get("log_seen_for") != (tuple(units), ours):
        state["log_seen_for"] = (tuple(units), ours)
        state["log_seen"] = on_record["record"].to_list()
        state["log_seen_too"] = ()
    seen: list[str] = state["log_seen"]
    return seen


main()
