"""When one machine is due, and what to do about it: the box at the head of its page."""

from collections.abc import Mapping
from typing import Any

import shared
import streamlit as st
import to_do
import unit_words
import words

from fleet.flow.due_when import day_reached
from fleet.flow.one_machine import OneMachine
from fleet.flow.read_aloud import chance_words


def draw(found: OneMachine, row: Mapping[str, Any] | None) -> None:
    """`row`: its row of the plain due list (frames.DUE); None where it is not on it."""
    with st.container(border=True):
        if row is None:
            st.markdown(words.escaped(found.not_due))
            return
        st.markdown(f"**{to_do.headline(row)}**, {_when(row)}")
        years = f"{row['horizon_years']:g}"
        st.markdown(
            f"If it works now, **{chance_words(row['p_fail'])}** that a capacitor fails within "
            f"{years} years; {chance_words(row['p_failed_unseen'])} that it has failed unseen."
        )
        st.markdown(words.escaped(f"{row['reason'][:1].upper()}{row['reason'][1:]}"))
    if row["action"] in unit_words.OPENS:
        shared.caution()


def _when(row: Mapping[str, Any]) -> str:
    reached = day_reached(row)
    if reached is None:
        return "no due date"
    since = "since " if reached < row["due_on"] else ""
    return f"due {since}{words.day(reached)}"
