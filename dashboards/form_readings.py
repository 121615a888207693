"""Readings entered with a job: typed or pasted as lines, read back before they are saved."""

import re
from collections.abc import Sequence
from hashlib import sha256

import form
import form_one_reading
import odd_reads
import page_names
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.bench_places import natural
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


def ask(kind: str, place: shared.Place, unit: str, model: str) -> list[str]:
    """Draw the field of readings with a job; what keeps it from being saved, in a few words."""
    if kind not in ASKED_WITH:
        return []
    positions = reads.records(place.key, "positions").filter(model=model)["position"]
    names = sorted(positions.unique().to_list(), key=natural)
    form_one_reading.offer(names)
    st.text_area(
        "Readings before and after",
        key=form.key(FIELD),
        persist_state="session",
        height=150,
        placeholder=EXAMPLE,
        help="One line a position, as the fields above write it: volts at both ends (the end "
        "marked + first), ESR, capacitance; in or out for in or out of the circuit. A table with "
        "a header can be pasted too.",
    )
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
        odd = odd_reads.odd_readings(place.key, unit, told, place.today) if told else ()
    except FleetError as error:
        _say_wrong(error)
        line = re.search(r"^line \d+", str(error))
        return [f"a reading is not understood{': ' + line[0] if line else ''}"]
    lacks = _ask_about(odd)
    try:
        refuse_unsaid_positions(kind, form.fields(kind), told)
    except FleetError as error:
        _say_wrong(error)
        lacks.append("say which positions were replaced")
    return lacks


def _say_wrong(error: FleetError) -> None:
    said = str(error)
    st.caption(f":material/error: :red[{words.escaped(said[:1].upper() + said[1:])}]")


def _ask_about(odd: Sequence[str]) -> list[str]:
    """Say what is odd; it can be saved once somebody says that it is so."""
    if not odd:
        return []
    for sentence in odd:
        said = words.escaped(page_names.instead_of_commands(sentence))
        st.caption(f":material/help: :red[{said[:1].upper()}{said[1:]}.]")
    # A tick is for these sentences: of others it is asked anew.
    of = sha256("\n".join(odd).encode()).hexdigest()[:12]
    if st.checkbox("Yes, it is so", key=f"log_odd_{of}"):
        return []
    return ["a reading is odd: correct it, or tick that it is so"]


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
