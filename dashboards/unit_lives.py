"""The sets of capacitors of one machine along the calendar: a section of its page."""

from collections.abc import Mapping
from typing import Any

import polars as pl
import shared
import streamlit as st
import take_away
import unit_words
import words

from fleet import charts
from fleet.flow.machine_lives import due_mark, with_ends
from fleet.flow.one_machine import OneMachine


def draw(found: OneMachine, place: shared.Place, row: Mapping[str, Any] | None) -> None:
    """`row`: when it is due (frames.DUE), where that is known by now."""
    st.header("Its sets of capacitors", anchor=False)
    st.markdown("\n".join(f"- {words.escaped(sentence)}" for sentence in found.said))
    if found.stretches.is_empty():
        return
    marks = found.marks
    if row is not None:
        marks = pl.concat([marks, due_mark(found.sets, row, as_of=place.as_of)])
    chart = charts.draw_machine(found.stretches, marks, as_of=place.as_of)
    st.altair_chart(chart, alt=" ".join(found.said))
    due = (
        " The stroke at its due date covers the limits of that date; the drawing ends 15 years on."
        if "due" in set(marks["what"])
        else ""
    )
    st.caption(
        "Each row is one set of capacitors. The filled thick bar is time in which it was watched "
        "and worked. Hollow bars are time nobody watched; with a broken outline, time of which "
        "nobody knows: it may have begun in it, or nothing was heard. The filled thin bar is time "
        "in which the machine stood broken. A stroke at a mark covers the days it may have been."
        f"{due} The dashed line is {words.day(place.as_of)}."
    )
    take_away.picture(chart, f"{found.unit}-sets", what="Picture")
    table = _table(found)
    with st.expander("The same as a table"):
        st.dataframe(table, hide_index=True, placeholder="", alt="Its sets of capacitors, in order")
        take_away.table(table, f"{found.unit}-sets", what="Sets")


def _table(found: OneMachine) -> pl.DataFrame:
    failed = found.failures.group_by("set_no", maintain_order=True).agg(
        pl.format(
            "{} ({})",
            pl.when(pl.col("earliest").is_null() | (pl.col("earliest") == pl.col("latest")))
            .then(pl.col("latest").cast(pl.String))
            .otherwise(pl.format("{} to {}", "earliest", "latest")),
            pl.col("cause").replace("masked", "unknown"),
        )
        .str.join("; ")
        .alias("failed_on")
    )
    sets = with_ends(found.sets).join(failed, on="set_no", how="left", maintain_order="left")
    return sets.select(
        pl.col("set_no").alias("Set"),
        pl.col("parts").replace(unit_words.PARTS).alias("Parts"),
        pl.col("batch").alias("Batch"),
        _days("started").fill_null("not known").alias("Began"),
        pl.col("watched_from").cast(pl.String).fill_null("never").alias("Watched from"),
        pl.col("last_working").cast(pl.String).alias("Last known working"),
        pl.col("failed_on").alias("Failed (cause)"),
        _days("ended").alias("Ended"),
        pl.col("ended_by").replace(unit_words.ENDED).alias("By"),
    )


def _days(name: str) -> pl.Expr:
    """The days on which something can have been, as one text."""
    first, last = pl.col(f"{name}_earliest"), pl.col(f"{name}_latest")
    return (
        pl.when(first == last)
        .then(first.cast(pl.String))
        .otherwise(pl.format("{} to {}", first, last))
    )
