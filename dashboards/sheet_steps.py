"""Steps kept for the bench: those there are, a form to add one, and the way to take it back."""

from collections.abc import Mapping, Sequence

import access
import address
import kept
import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet.flow.bench_facts import BenchSheet, Step
from fleet.flow.entering import Entered, add_record

MOMENTS: Mapping[str, str] = {
    "opening": "opening it",
    "position": "at one place on the board",
    "while_open": "while it is open",
    "closing": "closing it",
    "first_power": "first power",
    "symptom": "if it does not behave",
}
_MODEL, _UNIT = "every machine of the model", "this machine only"
_KEYS = ("text", "cause", "position")


def draw(place: shared.Place, sheet: BenchSheet) -> None:
    """The section of kept steps; adding needs the role that logging needs."""
    st.header("Steps kept", anchor=False)
    kept.said(
        place,
        "step",
        undo="Take the step back",
        undone="Taken back: the step is printed no more.",
    )
    _table(sheet)
    if access.person().may("log"):
        _form(place, sheet)


def _table(sheet: BenchSheet) -> None:
    rows = [
        (MOMENTS[moment], step.position, step.text, step.cause, _whose(step), step.record)
        for moment, steps in _all_steps(sheet).items()
        for step in steps
    ]
    if not rows:
        st.markdown(
            f"Nothing is kept for {words.escaped(sheet.model)} yet. What is learned at the bench "
            "goes here."
        )
        return
    names = ("When", "Place", "Step, or what it does", "Likely cause", "For", "Record")
    frame = pl.DataFrame(rows, schema=dict.fromkeys(names, pl.String), orient="row")
    with st.expander(
        f"{len(rows)} kept for {sheet.model}", icon=":material/checklist:", key="steps_kept"
    ):
        take_away.shown(
            frame,
            "steps",
            hide_index=True,
            placeholder="",
            alt=f"Steps kept for {sheet.model}, in the order of the sheet",
        )


def _all_steps(sheet: BenchSheet) -> dict[str, Sequence[Step]]:
    at_places = [step for place in sheet.places for step in place.steps]
    return {
        moment: [*sheet.steps.get(moment, ()), *(at_places if moment == "position" else ())]
        for moment in MOMENTS
    }


def _whose(step: Step) -> str:
    return _UNIT if step.of_unit else _MODEL


def _form(place: shared.Place, sheet: BenchSheet) -> None:
    # Drawn while it is closed too: what was typed and not kept is nowhere but in the fields.
    with (
        st.expander(
            "Keep a step for next time", icon=":material/edit:", **address.opened("keep_step")
        ),
        st.form("sheet_step", border=False),
    ):
        one, two = st.columns(2)
        one.selectbox("When", list(MOMENTS), format_func=MOMENTS.__getitem__, key="step_moment")
        two.selectbox(
            "Place on the board",
            [p.position for p in sheet.places],
            index=None,
            placeholder="none: the machine as a whole",
            key="step_position",
        )
        st.text_area(
            "The step, or what the machine does",
            key="step_text",
            height=80,
            placeholder="such as: mark both white plugs, they look alike",
        )
        st.text_input(
            "Likely cause",
            key="step_cause",
            placeholder="of what it does wrong; blank for a step",
        )
        if sheet.unit is not None:
            st.radio("For", [_MODEL, _UNIT], key="step_for", horizontal=True)
        st.form_submit_button(
            "Keep it", icon=":material/save:", on_click=_save, args=(place, sheet)
        )


def _save(place: shared.Place, sheet: BenchSheet) -> None:
    state = st.session_state
    fields = {
        "model": sheet.model,
        "moment": state["step_moment"],
        **{name: str(state.get(f"step_{name}") or "").strip() for name in _KEYS},
    }
    if sheet.unit is not None and state.get("step_for") == _UNIT:
        fields["unit"] = sheet.unit
    if not fields["text"]:
        kept.refuse("step", "Write what to do, or what the machine does; nothing was kept.")
        return
    given = {name: value for name, value in fields.items() if value}

    def save() -> Entered:
        return add_record(place.store, "steps", given, today=place.today, by=access.signed_by())

    if kept.keep(place, "step", fields["text"], save):
        for name in _KEYS:
            state.pop(f"step_{name}", None)
