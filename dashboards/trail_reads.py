"""Cached read of who did what."""

from pathlib import Path

import polars as pl
import reads
import streamlit as st

from fleet.flow import trail as flow


@st.cache_data(max_entries=8, show_spinner="Reading who did what")
def trail(key: reads.Key, unit: str | None = None) -> pl.DataFrame:
    """The trail, the newest first; of one machine where one is named."""
    return flow.trail(Path(key[0]), unit=unit)
