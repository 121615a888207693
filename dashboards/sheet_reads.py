"""Cached reads of the bench sheet."""

from datetime import date
from pathlib import Path

import polars as pl
import reads
import ready
import streamlit as st
from due_choice import USUAL

from fleet.flow.bench_facts import BenchSheet
from fleet.flow.bench_sheet import bench_sheet
from fleet.sheets.bench_sheet import bench_sheet_page

_SMALL = 16  # entries kept of each read


def plain_due(key: reads.Key, as_of: date) -> pl.DataFrame:
    """The due list as the sheet of a unit reads it: nothing asked for but the day."""
    return reads.due_answer(key, as_of, USUAL).frame


@ready.kept("Gathering the bench sheet")
def sheet(key: reads.Key, as_of: date, unit: str | None, model: str | None) -> BenchSheet:
    """The sheet of a unit, or of a model."""
    due = plain_due(key, as_of) if unit is not None else None
    return bench_sheet(Path(key[0]), as_of=as_of, unit=unit, model=model, due=due)


@st.cache_data(max_entries=_SMALL, show_spinner=False)
def page(key: reads.Key, as_of: date, unit: str | None, model: str | None) -> str:
    """The same as HTML."""
    return bench_sheet_page(sheet(key, as_of, unit, model))
