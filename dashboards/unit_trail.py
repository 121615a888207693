"""Who did what to the records of one machine: a fold of its page."""

from collections.abc import Mapping
from typing import Any

import access
import address
import narrow
import polars as pl
import shared
import streamlit as st
import take_away
import trail_reads
import words

from fleet.flow.one_machine import OneMachine

_KINDS = {"units": "its details", "reports": "reports", "readings": "readings", "photos": "photos"}


def draw(found: OneMachine, place: shared.Place) -> None:
    """For those who may log; read only where it is asked for, the latest first."""
    if not access.person().may("log"):
        return
    box = st.expander("Who did what", icon=":material/history:", **address.opened("show_trail"))
    if not box.open:
        return
    with box:
        rows = trail_reads.trail(place.key, found.unit).filter(pl.col("day") <= place.as_of)
        if rows.is_empty():
            st.markdown(f"Nothing was written of it by {words.day(place.as_of)}.")
            return
        nameless = rows["by"].null_count()
        st.markdown(
            f"{words.counted(rows.height, 'time')} somebody wrote about it, the latest first. "
            "Nothing is ever overwritten: what was corrected or taken back stays in the store."
            + (f" {nameless:,} came without a name." if nameless else "")
        )
        table = _table(rows)
        with narrow.wide("unit_trail"):
            take_away.rows(
                table,
                hide_index=True,
                placeholder="",
                alt=f"Who wrote what about {found.unit}, the latest first",
            )
        narrow.lines("unit_trail", [_line(row) for row in table.iter_rows(named=True)])
        take_away.table(table, f"{found.unit}-who-did-what", what="Who did what")


def _line(row: Mapping[str, Any]) -> str:
    """A row of the table for a phone."""
    head = ", ".join(str(row[name]) for name in ("When (UTC)", "Who") if row.get(name))
    rest = [f"{name.lower()} {row[name]}" for name in ("Through", "Record") if row.get(name)]
    return narrow.line(head, ": ".join(row[n] for n in ("Did", "What") if row.get(n)), *rest)


def _table(rows: pl.DataFrame) -> pl.DataFrame:
    """The rows as people read them; columns that hold nothing are left out."""
    when = pl.coalesce(
        pl.col("moment").dt.to_string("%Y-%m-%d %H:%M"), pl.col("day").cast(pl.String)
    )
    table = rows.select(
        when.alias("When (UTC)"),
        pl.col("by").alias("Who"),
        pl.col("did").alias("Did"),
        pl.col("kind").replace(_KINDS).alias("What"),
        pl.col("records").alias("Records"),
        pl.col("through").alias("Through"),
        pl.col("record").alias("Record"),
    )
    return table.select(name for name in table.columns if table[name].null_count() < table.height)
