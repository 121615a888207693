"""Cached reads of one machine."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import photo_reads
import polars as pl
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


def reports_with_photos(key: reads.Key, as_of: date, unit: str) -> pl.DataFrame:
    """Its reports of days up to `as_of` that have photos: record, unit, kind, date."""
    own_day = pl.coalesce("date_latest", "date_earliest").fill_null(as_of)
    ours = reads.records(key, "reports").filter(pl.col("unit") == unit, own_day <= as_of)
    shown = photo_reads.photos_of(key, tuple(ours["record"]))
    return ours.filter(pl.col("record").is_in(shown["report"].implode()))
