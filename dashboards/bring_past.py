"""What was brought in before, and taking it back."""

import access
import bring_preview
import bring_reads
import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet.errors import FleetError
from fleet.flow.importing import undo_import

_SHOWN = 200
_SORTS = {"files": "files", "entered": "one by one", "taken back": "taking back"}


def draw(place: shared.Place) -> None:
    """The list of imports; of a chosen one what an undo takes back, and its refused rows."""
    st.header("Brought in before", anchor=False)
    writes = bring_reads.writes(place.key)
    if writes.is_empty():
        st.markdown("Nothing was brought in yet.")
        return
    if not st.toggle("Show also what was entered one by one", key="bring_all"):
        writes = writes.filter(pl.col("sort") == "files")
    shown = writes.head(_SHOWN)
    if shown.is_empty():
        st.markdown("No file was brought in yet.")
        return
    st.caption("Select a row to see what it brought and to take it back.")
    picked = st.dataframe(
        _table(shown),
        hide_index=True,
        on_select="rerun",
        selection_mode="single-row",
        key="bring_past",
        placeholder="",
        alt="What was brought in, the newest first",
        column_config={  # the first three are seen on a phone
            "What": st.column_config.TextColumn(width=130),
            "Day": st.column_config.TextColumn(width=90),
            "New": st.column_config.NumberColumn(width=70, format="localized"),
        },
    )
    if writes.height > _SHOWN:
        st.caption(f"The newest {_SHOWN} of {writes.height:,} are shown; the files have all.")
    take_away.table(_table(writes), "brought-in", what="What was brought in")
    rows = picked.selection.rows
    if rows and rows[0] < shown.height:
        _one(place, shown.row(rows[0], named=True))


def _table(writes: pl.DataFrame) -> pl.DataFrame:
    return writes.select(
        pl.col("what").alias("What"),
        pl.col("today").cast(pl.String).alias("Day"),
        pl.col("kept").alias("New"),
        pl.col("taken_back").alias("Taken back since"),
        pl.col("rejected").alias("Refused"),
        pl.col("already_known").alias("Known already"),
        pl.col("by").alias("By"),
        pl.col("sort").replace(_SORTS).alias("How"),
        pl.col("import_id").alias("Import"),
    )


def _one(place: shared.Place, row: dict[str, object]) -> None:
    import_id = str(row["import_id"])
    with st.container(border=True):
        st.markdown(f"**{import_id}**: {row['what']}")
        takes, why = bring_reads.undo_of(place.key, import_id, place.today)
        if takes is None:
            st.info(f"{why[:1].upper()}{why[1:]}.", icon=":material/info:")
        else:
            st.markdown(undo_words(takes))
            undo_button(place, import_id, key="bring_undo")
        if row["rejected"]:
            bring_preview.refused(
                bring_reads.rejects(place.key, import_id), name=f"refused-{import_id}"
            )


def undo_words(takes: pl.DataFrame) -> str:
    """What an undo takes back, in a sentence."""
    parts = ", ".join(
        f"{count:,} of {kind}" for kind, count in takes.select("kind", "records").iter_rows()
    )
    corrected = int(takes["corrections"].sum())
    one, many = "record that it corrected counts", "records that it corrected count"
    again = f" {words.counted(corrected, one, many)} again." if corrected else ""
    total = int(takes["records"].sum())
    return (
        f"Taking it back takes {words.counted(total, 'record')} back: {parts}. They stay in the "
        f"history and count no more.{again}"
    )


def undo_button(place: shared.Place, import_id: str, *, key: str) -> None:
    """The button that takes an import back."""
    st.button(
        f"Take {import_id} back",
        icon=":material/undo:",
        key=key,
        on_click=_undo,
        args=(place, import_id),
        help="To have its records again, bring the file in again.",
    )


def _undo(place: shared.Place, import_id: str) -> None:
    access.need("manage")
    state = st.session_state
    state["bring_error"] = None
    try:
        taken = undo_import(place.store, import_id, today=place.today, by=who())
    except FleetError as error:
        state["bring_error"] = str(error)
        return
    state["bring_done"] = None
    state["bring_undone"] = (
        f"Took {words.counted(taken, 'record')} of {import_id} back: "
        f"{'it counts' if taken == 1 else 'they count'} no more. Bring the file in again to have "
        f"{'it' if taken == 1 else 'them'} again."
    )
    shared.move_to_today()


def who() -> str | None:
    """Whoever is signed in, else the name that was typed."""
    return access.signed_by() or str(st.session_state.get("bring_by") or "").strip() or None
