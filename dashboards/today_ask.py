"""Whom to ask whether machines still work: the section of the page Today."""

from typing import Any

import access
import polars as pl
import shared
import streamlit as st
import take_away
import today_reads
import words

from fleet.flow.check_ask import Ask
from fleet.flow.check_finding import NEGLIGIBLE

_NOBODY = "somebody who knows it"


def draw(place: shared.Place) -> None:
    """Machines not heard of for long, under the person who told of each last."""
    st.header("Whom to ask for a check-in", anchor=False)
    ask, frame = today_reads.to_ask(place.key, place.as_of)
    if ask is None or frame.is_empty():
        st.markdown("Every machine on original parts was heard of within the last two years.")
        return
    silent = today_reads.not_heard_of_count(place.key, place.as_of)
    st.markdown(
        f"Does it still work? {first_of(frame, silent)}: those whose answer tells most, each under "
        "the name of whoever told of it last."
    )
    _say_what_it_brings(ask, silent)
    page = "views/log.py" if access.person().may("log") else "views/units.py"
    for who, rows in people(frame).items():
        st.markdown(f"Ask **{words.escaped(who)}** about")
        with st.container(horizontal=True, gap="small"):
            for row in rows:
                st.page_link(
                    page,
                    label=words.escaped(_machine(row)),
                    icon=":material/help:",
                    query_params={"unit": row["unit"]},
                )
    if page == "views/log.py":
        st.caption("A machine's name leads to the form that takes the answer.")
    with st.expander("To copy into a message", key="fold_message"):
        st.code("\n\n".join(_message(frame)), language=None, wrap_lines=True)
    take_away.table(_table(frame), f"to-ask-{place.as_of}", what="Machines to ask after")


def first(frame: pl.DataFrame) -> str:
    """Whom to ask first, about what, in a few words."""
    row = frame.row(0, named=True)
    return f"{_who(row)} about {row['unit']}"


def first_of(frame: pl.DataFrame, silent: int) -> str:
    """How many to begin with, of how many."""
    return f"{frame.height:,} first, of {silent:,} not heard of for two years"


def people(frame: pl.DataFrame) -> dict[str, list[dict[str, Any]]]:
    """The rows under each person, in the order in which each is named first."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in frame.iter_rows(named=True):
        found.setdefault(_who(row), []).append(row)
    return found


def _who(row: dict[str, Any]) -> str:
    source = row["source"]
    if row["person"] is None:
        return source or _NOBODY
    return f"{row['person']} ({source})" if source else str(row["person"])


def _machine(row: dict[str, Any]) -> str:
    return f"{row['unit']}, {_heard(row)}"


def _heard(row: dict[str, Any]) -> str:
    day = row["last_known_working"]
    return "never told of" if day is None else f"worked {day:%B %Y}"


def _message(frame: pl.DataFrame) -> list[str]:
    said = []
    for who, rows in people(frame).items():
        lines = [f"- {row['unit']} ({row['model']}), last known: {_heard(row)}" for row in rows]
        said.append("\n".join([f"To {who}: do these still work, and since when not?", *lines]))
    return said


def _say_what_it_brings(ask: Ask, silent: int) -> None:
    """Only how near the limits come is measured here: by how much a curve may move takes longer."""
    if ask.effect is None or ask.whose is None:
        return
    nearer = (
        "hardly bring the limits of a curve nearer"
        if ask.effect < NEGLIGIBLE
        else f"bring the limits for {words.escaped(ask.whose)} nearer by up to "
        f"{100 * ask.effect:.0f} %"
    )
    st.caption(
        f"Answers on all {silent:,} would {nearer}, but may move the curve itself: the page Data "
        "health measures by how much. They also turn up machines that have failed."
    )


def _table(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.select(
        pl.col("unit").alias("Machine"),
        pl.col("person").alias("Told last by"),
        pl.col("last_known_working").alias("Last known to work"),
        pl.col("model").alias("Model"),
        pl.col("source").alias("Source"),
        pl.col("site").alias("Site"),
    )
