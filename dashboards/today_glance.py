"""What is due, what changed and whom to ask, each in a line: the head of the page Today."""

from collections.abc import Callable
from datetime import date

import polars as pl
import streamlit as st
import today_ask
import today_machines
import words
from streamlit.delta_generator import DeltaGenerator

from fleet.flow.changed_rows import WHAT

Line = Callable[[str], DeltaGenerator]
_TOLD = ("became_due", "no_longer_due", "left_list", "new_report")


def lines() -> tuple[DeltaGenerator, DeltaGenerator, DeltaGenerator]:
    """Places for three lines, filled as each answer is there."""
    with st.container(border=True, gap="small"):
        due, changed, ask = st.empty(), st.empty(), st.empty()
    due.markdown(":material/build: Looking for what is due …")
    changed.markdown(":material/sync: What changed comes next …")
    ask.markdown(":material/forum: Whom to ask comes next …")
    return due, changed, ask


def due(frame: pl.DataFrame) -> str:
    """What is due, and the worst of it."""
    now = frame.filter(action="recap_now")
    if frame.is_empty():
        return ":material/build: **No machine** was known to be working."
    if now.is_empty():
        return f":material/build: **Nothing is due now**, of {_at_work(frame)}."
    row = now.row(0, named=True)
    verb = "is" if now.height == 1 else "are"
    return (
        f":material/build: **{now.height:,} {verb} due now**, of {_at_work(frame)}. "
        f"Worst: **{words.escaped(row['unit'])}**, {today_machines.chance(row)}."
    )


def changed(found: pl.DataFrame, since: date) -> str:
    """How much changed, and the kinds that matter most."""
    if found.is_empty():
        return f":material/sync: **Nothing changed** since {words.day(since)}."
    counts = dict(found.group_by("what").len().iter_rows())
    told = [words.counted(counts[what], *WHAT[what]) for what in _TOLD if what in counts]
    rest = sum(count for what, count in counts.items() if what not in _TOLD)
    if rest:
        told.append(words.counted(rest, "other change"))
    return (
        f":material/sync: Since {words.day(since)}: **{told[0]}**"
        + "".join(f", {one}" for one in told[1:])
        + "."
    )


def ask(frame: pl.DataFrame, silent: int) -> str:
    """How many machines to ask after first, of how many, and whom."""
    if frame.is_empty():
        return ":material/forum: **Nobody to ask**: every machine was heard of lately."
    who = words.escaped(today_ask.first(frame))
    return (
        f":material/forum: Machines to ask after: **{today_ask.first_of(frame, silent)}**. "
        f"Begin with **{who}**."
    )


def _at_work(frame: pl.DataFrame) -> str:
    return f"{words.counted(frame.height, 'machine')} at work"
