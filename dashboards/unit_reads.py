"""Cached reads of one machine."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import reads
import sheet_reads
import streamlit as st

from fleet.flow.one_machine import OneMachine, one_machine


@st.cache_data(max_entries=32, show_spinner="Reading its records")
def machine(key: reads.Key, as_of: date, unit: str) -> OneMachine:
    """One machine, without its due date."""
    return one_machine(Path(key[0]), unit, as_of=as_of)


def due_row(key: reads.Key, as_of: date, unit: str) -> Mapping[str, Any] | None:
    """Its row of the plain due list (frames.DUE); None where it is not on it."""
    rows = sheet_reads.plain_due(key, as_of).filter(unit=unit)
    return rows.row(0, named=True) if rows.height else None
