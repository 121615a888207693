"""Reads of the page Log a report: of the machines it is about only."""

import polars as pl
import reads
import streamlit as st


@st.cache_resource(max_entries=16, show_spinner="Reading the last reports")
def reports_on(key: reads.Key, units: tuple[str, ...]) -> pl.DataFrame:
    """The standing reports on some machines, newest first; nobody changes them."""
    found = reads.records(key, "reports").filter(pl.col("unit").is_in(list(units)))
    newest_first = ("date_latest", "entered_on", "record")
    return found.sort(newest_first, descending=True, nulls_last=True)
