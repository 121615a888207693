"""The machines that are due now, the worst first, each with where to go next."""

from collections.abc import Mapping
from typing import Any

import access
import polars as pl
import shared
import streamlit as st
import to_do
import today_reads
import words

from fleet.flow.ask_first import asks_first
from fleet.flow.read_aloud import chance_words

_FEW = 5  # machines written out; the due list has all


def draw(place: shared.Place) -> None:
    """The first of them with why, and the ways to the others."""
    st.header("Due now", anchor=False)
    frame = today_reads.due(place.key, place.as_of)
    now = frame.filter(action="recap_now")
    if now.is_empty():
        st.markdown(
            "No machine was known to be working." if frame.is_empty() else "Nothing is due now."
        )
    elif now.height > 1:
        st.markdown("The likeliest to fail first.")
    if not now.is_empty():
        shared.caution()
    for row in now.head(_FEW).iter_rows(named=True):
        _machine(row)
    _others(frame, now.height - _FEW)


def chance(row: Mapping[str, Any]) -> str:
    """How likely a machine is to fail, for a sentence or the head of its box."""
    return f"{chance_words(row['p_fail'])} to fail within {row['horizon_years']:g} years"


def _machine(row: Mapping[str, Any]) -> None:
    unit = row["unit"]
    with st.container(border=True, gap="xsmall"):
        st.markdown(f"**{words.escaped(unit)}**, {words.escaped(row['model'])}: **{chance(row)}**")
        if asks_first(row):
            gone = chance_words(row["p_failed_unseen"])
            st.markdown(f"**{to_do.headline(row)}**: {gone} that it has failed unseen.")
        st.markdown(words.escaped(f"{row['reason'].split('. ')[0].rstrip('.')}."))
        with st.container(horizontal=True, gap="xxsmall"):
            _link("views/units.py", f"See {unit}", ":material/history:", unit)
            if access.person().may("log"):
                _link("views/log.py", f"Log {unit}", ":material/edit_note:", unit)
            _link("views/sheet.py", f"Sheet {unit}", ":material/print:", unit)


def _link(page: str, label: str, icon: str, unit: str) -> None:
    st.page_link(page, label=words.escaped(label), icon=icon, query_params={"unit": unit})


def _others(frame: pl.DataFrame, more: int) -> None:
    counts = dict(frame.group_by("action").len().iter_rows())
    ways = {
        "recap_now": f"{more:,} more due now" if more > 0 else "",
        "measure": f"{counts.get('measure', 0):,} to measure first",
        "check_in": f"{counts.get('check_in', 0):,} of which nothing else can be said",
    }
    with st.container(horizontal=True):
        for action, label in ways.items():
            if label and counts.get(action):
                st.page_link(
                    "views/due.py",
                    label=label,
                    icon=":material/list:",
                    query_params={"action": action},
                )
        st.page_link("views/due.py", label="The whole due list", icon=":material/list:")
        st.page_link("views/plan.py", label="Plan and order", icon=":material/calendar_month:")
