"""Which machines a report is about: one, or several at once for a roll call."""

import choose_machine
import form
import polars as pl
import streamlit as st
import words

from fleet.flow.named_units import read_units

_OFFERED = 2_000  # machines that a list holds; beyond, names are typed or pasted


def choose(machines: pl.DataFrame) -> list[str]:
    """The machines (reads.last_reports) that were chosen; none until some are."""
    if not st.toggle("Roll call: several machines at once", key="log_many", persist_state="session",
                     on_change=form.forget_refusals):  # fmt: skip
        unit = choose_machine.choose(machines, changed=form.forget_refusals)
        return [] if unit is None else [unit]
    tapped = _tapped(machines) if machines.height <= _OFFERED else []
    typed = st.text_area(
        "Names, one a line or parted by commas",
        key="log_names",
        persist_state="session",
        height=80,
        placeholder="U-007, S-012, 043",
        help="Any part of a name or serial number that only one machine has.",
    )
    told = read_units(typed or "", machines)
    for sentence in told.unsettled:
        st.caption(f":material/error: :red[{words.escaped(sentence)}]")
    chosen = list(dict.fromkeys([*tapped, *told.units]))
    if told.units:
        st.caption(f":material/check: read as {words.escaped(', '.join(told.units))}")
    return [] if told.unsettled else chosen


def _tapped(machines: pl.DataFrame) -> list[str]:
    labels = {
        unit: " · ".join(part for part in (unit, serial, model) if part)
        for unit, serial, model in machines.select("unit", "serial", "model").iter_rows()
    }
    return st.multiselect(
        "Machines",
        list(labels),
        format_func=lambda unit: labels.get(unit, unit),
        key="log_units",
        persist_state="session",
        filter_mode="contains",
        placeholder="type any part of a name, serial number or model",
        on_change=form.forget_refusals,
    )


def empty() -> None:
    """Forget a roll call that was saved."""
    st.session_state["log_units"] = []
    st.session_state["log_names"] = ""
