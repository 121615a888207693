"""Cached reads: each keyed by the store's path and stamp, so that nobody sees stale numbers."""

from datetime import date
from pathlib import Path

import polars as pl
import ready
import streamlit as st
from due_choice import Choice

from fleet.ages import DAYS_PER_YEAR
from fleet.flow import answers
from fleet.flow.due import Prior
from fleet.flow.due import due as due_list
from fleet.flow.known import known_records
from fleet.flow.last_reports import LastReports
from fleet.flow.last_reports import last_reports as last_of
from fleet.flow.table import Answer, Settings, Table, in_years

Key = tuple[str, str]
_SMALL = 8  # entries kept of each read


def records(key: Key, kind: str) -> pl.DataFrame:
    """All current records of a kind, whenever dated."""
    # Pages that ask for nothing but machines do not wait for the reports.
    return _told(key)[kind] if kind in ("reports", "photos") else _of_kind(key, kind)


@st.cache_resource(max_entries=_SMALL, show_spinner="Reading the records")
def _told(key: Key) -> dict[str, pl.DataFrame]:
    """What a page about reports asks for, by opening the store once."""
    return known_records(Path(key[0]), ("units", "reports", "photos"), as_of=None)


@st.cache_resource(max_entries=_SMALL, show_spinner="Reading the records")
def _of_kind(key: Key, kind: str) -> pl.DataFrame:
    return known_records(Path(key[0]), (kind,), as_of=None)[kind]


@st.cache_resource(max_entries=_SMALL, show_spinner="Reading the records")
def last_reports(key: Key) -> pl.DataFrame:
    """Each unit with its latest report: unit, model, serial, date, kind (null: none)."""
    told = _told(key)
    made = last_of(told["reports"], told["units"], _last_before.get(key[0]))
    _last_before.clear()
    _last_before[key[0]] = made
    return made.frame


_last_before: dict[str, LastReports] = {}  # of the state before: most of it still holds


@st.cache_resource(max_entries=_SMALL, show_spinner="Building the life table")
def lives(key: Key, as_of: date, settings: Settings) -> Table:
    """The life table, ages in years."""
    return in_years(answers.lives(Path(key[0]), as_of=as_of, settings=settings))


@ready.kept("Reckoning due dates")
def due_answer(key: Key, as_of: date, choice: Choice) -> Answer:
    """The due list with ages in days, for all pages that ask for it; nobody changes it.

    What is kept is found by what was passed: `choice` has no default, so that pages which ask for
    the same find the same.
    """
    return due_list(
        Path(key[0]),
        as_of=as_of,
        horizon_years=choice.horizon,
        new_parts=choice.new_parts,
        planned_cost=choice.planned,
        failure_cost=choice.failure,
        estimate=choice.estimate,
        prior=Prior().with_share(choice.share),
        policy=choice.policy,
    )


@ready.kept("Reckoning due dates")
def due(key: Key, as_of: date, choice: Choice) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The same with ages in years and the unit's source, and its notes; nobody changes it."""
    answer = due_answer(key, as_of, choice)
    sources = records(key, "units").select("unit", "source").unique("unit", keep="last")
    aged = [c for c in answer.frame.columns if c == "age" or c.startswith("optimal_age")]
    frame = answer.frame.with_columns(pl.col(aged) / DAYS_PER_YEAR)
    return frame.join(sources, on="unit", how="left", maintain_order="left"), answer.notes
