"""Cached: what is odd about what is being typed."""

from datetime import date
from pathlib import Path

import reads
import streamlit as st

from fleet.flow.entered_readings import odd_ahead


@st.cache_data(max_entries=16, show_spinner=False)
def odd_readings(
    key: reads.Key, unit: str, told: list[dict[str, str]], today: date
) -> tuple[str, ...]:
    """What is odd about readings that are being typed, as the store would say after a save."""
    return odd_ahead(Path(key[0]), unit, told, today=today)
