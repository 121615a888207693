"""What taking all batches of a model together may hide, at the head of the curves page."""

from collections.abc import Mapping
from typing import Any

import address
import polars as pl
import ready
import streamlit as st
import suspects_reads
from curve_view import View

from fleet import charts
from fleet.flow.batches_together import batches_together, together_words
from fleet.flow.table import Settings

_APART = "model,batch"


def sentences(view: View, fits: pl.DataFrame) -> dict[str, str]:
    """What to say of each group shown that takes several batches together."""
    many = batches_together(view.only(view.curves.lives).drop("group"), by=view.by)
    counts = dict(charts.name_groups(many, view.by).select("group", "batches").iter_rows())
    rows = {row["group"]: row for row in fits.iter_rows(named=True) if row["group"] in counts}
    return {
        name: together_words(counts[name], row, _verdict(view, row)) for name, row in rows.items()
    }


def draw_way(view: View, said: Mapping[str, str]) -> None:
    """That batches are taken together, and how to take them apart, where there are several."""
    if not said:
        return
    st.caption(
        "Each curve takes all batches of its group together. Batches that live apart make one "
        "curve flatter than each of theirs."
    )
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            "Take the batches apart",
            icon=":material/call_split:",
            on_click=address.put,
            args=("by", _APART),
            key="batches_apart",
        )
        st.page_link("views/suspects.py", label="Do the batches differ?", icon=":material/target:")


def _verdict(view: View, row: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """What the page on batches says of the same lives, if it was asked already."""
    parts = row.get("parts") or view.choice.settings.parts
    if "model" not in view.by or parts not in ("original", "replaced"):
        return None
    settings = Settings(unknown_cause=view.choice.settings.unknown_cause)
    found = ready.at_hand(
        suspects_reads.suspects, view.choice.key, view.choice.as_of, suspects_reads.LEVEL, settings
    )
    if found is None or found.frame.is_empty():
        return None
    mine = found.of(parts).filter(level="model", model=row["model"])
    return mine.row(0, named=True) if mine.height == 1 else None
