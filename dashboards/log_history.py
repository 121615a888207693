"""The last reports on the machine that is being reported on, with their photos."""

from collections.abc import Mapping
from typing import Any

import form_photos
import polars as pl
import reads
import record_words
import streamlit as st
import take_away
import words

_SHOWN = 6


def draw(key: reads.Key, unit: str, reports: pl.DataFrame) -> None:
    """`reports`: those on the unit, newest first."""
    st.header(f"Last reports on {words.escaped(unit)}", anchor=False)
    if reports.is_empty():
        st.markdown("None yet.")
        return
    newest = reports.head(_SHOWN)
    st.markdown("\n".join(f"- {_in_words(row)}" for row in newest.iter_rows(named=True)))
    form_photos.show(key, newest)
    with st.expander(
        "The same as a table, with records' names", icon=":material/table:", key="fold_last_reports"
    ):
        take_away.shown(
            _table(newest),
            f"last-reports-{unit}",
            what="Last reports",
            hide_index=True,
            placeholder="",
            alt=f"Last reports on {unit}, newest first",
        )


def _in_words(row: Mapping[str, Any]) -> str:
    """A report in a line: **2026-04-25** failed, a capacitor, C3; no display (by JB)."""
    cured = {True: "works again", False: "does not work yet"}.get(row["cured"])
    cause = None if row["cause"] == "unknown" else row["cause"]
    what = [
        words.SEEN.get(row["kind"], row["kind"]),
        record_words.said("cause", cause or ""),
        (row["positions"] or "").replace(";", ", "),
        cured,
    ]
    said = words.escaped(", ".join(part for part in what if part))
    told = "; ".join(part for part in (row["symptom"], row["notes"]) if part)
    by = f" (by {words.escaped(row['by'])})" if row["by"] else ""
    return f"**{words.escaped(row['date'] or 'no date')}** {said}" + (
        f": {words.escaped(told)}{by}" if told else by
    )


def _table(reports: pl.DataFrame) -> pl.DataFrame:
    return reports.select(
        pl.col("date").alias("Date"),
        pl.col("kind").replace(words.KINDS).alias("What"),
        pl.col("cause").alias("Cause"),
        pl.when("cured")
        .then(pl.lit("yes"))
        .when(~pl.col("cured"))
        .then(pl.lit("no"))
        .alias("Cured"),
        pl.col("positions").alias("Positions"),
        pl.coalesce("symptom", "notes").alias("Symptom or notes"),
        pl.col("by").alias("By"),
        pl.col("record").alias("Record"),
    )
