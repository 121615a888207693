"""Cached reads of the page Log a report: of the machines it is about only."""

from pathlib import Path

import polars as pl
import reads
import streamlit as st

from fleet.flow.known import known_records


@st.cache_data(max_entries=16, show_spinner="Reading the last reports")
def reports_on(key: reads.Key, units: tuple[str, ...]) -> pl.DataFrame:
    """The standing reports on some machines, newest first."""
    only = units[0] if len(units) == 1 else None
    found = known_records(Path(key[0]), ("reports",), as_of=None, unit=only)["reports"]
    return found.filter(pl.col("unit").is_in(list(units))).sort(
        "date_latest", "entered_on", "record", descending=True, nulls_last=True
    )
