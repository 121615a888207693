"""Readings entered with a job: typed or pasted as lines, read back before they are saved."""

import form
import polars as pl
import reads
import shared
import streamlit as st

from fleet.errors import BadInput
from fleet.flow.entered_readings import refuse_unsaid_positions
from fleet.flow.reading_lines import EXAMPLE, blank_lines, read_reading_lines

ASKED_WITH = frozenset({"recapped", "repaired", "board_swapped"})
FIELD = "readings"
_NAMES = {
    "position": "Position",
    "stage": "When",
    "volts_positive": "V at +",
    "volts_negative": "V at -",
    "esr_ohm": "ESR (ohm)",
    "capacitance": "Capacitance",
    "in_circuit": "In circuit",
    "limit_used": "Limit used",
    "instrument": "Instrument",
}


def readings(kind: str) -> list[dict[str, str]]:
    """What was typed, as readings; BadInput where it is not read."""
    return read_reading_lines(form.text(FIELD)) if kind in ASKED_WITH else []


def ask(kind: str, place: shared.Place, model: str) -> bool:
    """Draw the field of readings with a job; whether what it holds can be saved."""
    if kind not in ASKED_WITH:
        return True
    st.text_area(
        "Readings before and after",
        key=form.key(FIELD),
        persist_state="session",
        height=150,
        placeholder=EXAMPLE,
        help="One line a position: volts at both ends (positive first), ESR, capacitance; in or "
        "out for in or out of the circuit. A table with a header can be pasted too.",
    )
    positions = reads.records(place.key, "positions").filter(model=model)["position"]
    names = positions.unique().sort().to_list()
    if names:
        st.button(
            f"A line for each position of {model}",
            icon=":material/playlist_add:",
            on_click=_put_lines,
            args=(names,),
            key="log_reading_lines",
        )
    try:
        told = readings(kind)
        if told:
            _read_back(told)
        refuse_unsaid_positions(kind, form.fields(kind), told)
    except BadInput as error:
        st.caption(f":material/error: :red[{str(error)[:1].upper()}{str(error)[1:]}]")
        return False
    return True


def _put_lines(names: list[str]) -> None:
    """Lines for positions that have none yet, behind what is there."""
    lines = form.text(FIELD).splitlines()
    there = {line.split()[0] for line in lines if line.strip()}
    new = [name for name in names if name not in there]
    st.session_state[form.key(FIELD)] = "\n".join([*lines, *blank_lines(new).splitlines()])


def _read_back(told: list[dict[str, str]]) -> None:
    frame = pl.DataFrame(told, schema=dict.fromkeys(_NAMES, pl.String))
    used = [name for name in _NAMES if frame[name].is_not_null().any()]
    st.dataframe(
        frame.select(pl.col(name).alias(_NAMES[name]) for name in used),
        hide_index=True,
        placeholder="",
        alt="The readings as they are understood",
    )
