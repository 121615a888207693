"""What changed since a day: the section of the page Today."""

from datetime import date, timedelta

import access
import address
import polars as pl
import shared
import streamlit as st
import take_away
import today_reads
import visits
import words

from fleet.flow.changed_rows import WHAT
from fleet.flow.changed_words import changed_words

_MONTH = timedelta(days=30)
_FIRST_DAY = date(1949, 1, 1)
_NAMED = 3  # sentences of a kind; the table has the rest


def draw(place: shared.Place) -> tuple[pl.DataFrame, date]:
    """New reports first: they are quick. Then the two due lists, and batches where asked.

    Returns what was found (flow.changed_rows.CHANGED) and since when.
    """
    st.header("What changed", anchor=False)
    since = _since(place)
    parts = [today_reads.new_reports(place.key, since, place.as_of)]
    parts.append(today_reads.new_advice(place.key, since, place.as_of))
    batches = st.toggle("Also verdicts on batches; this takes a while",
                        **address.opened("changed_batches"))  # fmt: skip
    if batches:
        parts.append(today_reads.new_verdicts(place.key, since, place.as_of))
    found = pl.concat(parts)
    if found.is_empty():
        said = changed_words(found, since=since, batches=batches)
        st.markdown(words.escaped(" ".join(said)))
        return found, since
    for what, (one, many) in WHAT.items():
        _kind(found.filter(what=what), one, many)
    _table(found, since)
    return found, since


def _kind(rows: pl.DataFrame, one: str, many: str) -> None:
    """What changed alike, the first of it each with the way to its machine."""
    if rows.is_empty():
        return
    with st.container(gap="xxsmall"):
        st.markdown(f"**{words.counted(rows.height, one, many)}**")
        for what, name, sentence in (
            rows.head(_NAMED).select("what", "name", "sentence").iter_rows()
        ):
            batch = what == "other_verdict"
            st.page_link(
                "views/suspects.py" if batch else "views/units.py",
                label=words.escaped(sentence),
                icon=":material/chevron_right:",
                query_params=None if batch else {"unit": name},
            )
        if rows.height > _NAMED:
            st.caption(f"and {rows.height - _NAMED:,} more, in the table below")


def _table(found: pl.DataFrame, since: date) -> None:
    table = found.select(
        pl.col("name").alias("Machine or batch"),
        pl.col("what").replace({key: one for key, (one, _) in WHAT.items()}).alias("What"),
        pl.col("after").alias("Now"),
        pl.col("before").alias("Before"),
        pl.col("on").alias("Day told"),
        pl.col("model").alias("Model"),
    )
    with st.expander(f"All of it as a table ({found.height:,})"):
        take_away.rows(table, hide_index=True, placeholder="", alt="What changed, by kind")
        take_away.table(table, f"changed-since-{since}", what="Changes")


def _since(place: shared.Place) -> date:
    latest = place.as_of - timedelta(days=1)
    before = visits.last_visit(place.store, access.person().name, today=place.today)
    visited = before is not None and before <= latest
    usual = before if visited and before is not None else max(_FIRST_DAY, place.as_of - _MONTH)
    chosen = st.date_input(
        "Since the end of",
        min_value=_FIRST_DAY,
        max_value=latest,
        format="YYYY-MM-DD",
        width=220,
        **address.day("since", _FIRST_DAY, latest, usual),
    )
    since = chosen if isinstance(chosen, date) else usual
    if since == usual:
        why = "when you were last here" if visited else "a month before the day shown"
        st.caption(f"{words.day(since)} is {why}; choose another day to look further back.")
    return since
