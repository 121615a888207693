"""Cached reads of the parts page."""

from datetime import date
from pathlib import Path

import reads
import streamlit as st

from fleet.flow.parts import StandIns, stand_ins


@st.cache_data(max_entries=32, show_spinner="Holding parts against the place")
def verdicts(key: reads.Key, as_of: date, model: str, position: str, facts: str | None) -> StandIns:
    """Every part, or one described by `facts`, in one place."""
    return stand_ins(Path(key[0]), as_of=as_of, model=model, position=position, facts=facts)
