"""What bringing files in would do, before anything is written."""

import polars as pl
import streamlit as st
import take_away
import words

from fleet.flow.importing import Imported, Looked
from fleet.frames import KINDS

_SHOWN = 200  # rows of each kind sent to the browser
_NOTES = 5
_LISTED = 10  # refused rows written out


def draw(looked: Looked) -> None:
    """Counts, rows that would be kept, refused rows with their reasons."""
    st.header("What would happen", anchor=False)
    st.markdown(in_words(looked, done=False))
    counts(looked)
    for note in looked.notes[:_NOTES]:
        st.caption(f":material/info: {words.escaped(note)}")
    if len(looked.notes) > _NOTES:
        with st.expander(f"{len(looked.notes) - _NOTES} more notes"):
            st.markdown("\n".join(f"- {words.escaped(note)}" for note in looked.notes[_NOTES:]))
    if looked.kept:
        with st.expander("Rows that would be kept"):
            _kept(looked)
    refused(looked.rejected, name="refused-rows")


def in_words(imported: Imported, *, done: bool) -> str:
    """What became, or would become, of the rows, in a sentence."""
    rows, kept, rejected, known = (
        int(imported.counts[name].sum()) for name in ("rows", "kept", "rejected", "already_known")
    )
    verb = "were" if done else "would be"
    first = "" if done else " Nothing is written yet."
    return (
        f"Of {words.counted(rows, 'row')}, {kept:,} {verb} kept, {known:,} "
        f"{'were' if done else 'are'} known already, and {rejected:,} {verb} refused.{first}"
    )


def counts(imported: Imported) -> None:
    """Rows by file and kind."""
    if imported.counts.is_empty():
        return
    st.dataframe(
        imported.counts.select(
            pl.col("file").alias("File"),
            pl.col("kept").alias("New"),
            pl.col("rejected").alias("Refused"),
            pl.col("already_known").alias("Known already"),
            pl.col("kind").alias("Kind"),
            pl.col("rows").alias("Rows"),
        ),
        hide_index=True,
        placeholder="",
        alt="Rows of each file: new, known already, refused",
        column_config={  # the first three are seen on a phone
            "File": st.column_config.TextColumn(width=130),
            "New": st.column_config.NumberColumn(width=70, format="localized"),
            "Refused": st.column_config.NumberColumn(width=80, format="localized"),
        },
    )


def _kept(looked: Looked) -> None:
    for kind, frame in looked.kept.items():
        names = [column.name for column in KINDS[kind].columns if not column.private]
        whole = frame.select(
            pl.col("line").alias("Line"),
            *(
                pl.col(name).alias(name.replace("_", " ").capitalize())
                for name in names
                if frame[name].null_count() < frame.height
            ),
        )
        more = frame.height - _SHOWN
        st.markdown(f"**{kind}**" + (f", the first {_SHOWN} of {frame.height:,}" * (more > 0)))
        st.dataframe(whole.head(_SHOWN), hide_index=True, placeholder="", alt=f"New rows of {kind}")
        take_away.table(whole, f"new-{kind}", what=f"New rows of {kind}")


def refused(rejected: pl.DataFrame, *, name: str) -> None:
    """Refused rows with line and reason, to be mended in the file and brought in again."""
    if rejected.is_empty():
        return
    table = rejected.sort("file", "line", maintain_order=True).select(
        pl.col("file").alias("File"),
        pl.col("line").alias("Line"),
        pl.col("reason").alias("Why it is refused"),
        pl.col("row").alias("What the row says"),
    )
    st.markdown(f"**Refused rows ({table.height:,})**")
    st.caption("Mend them in the file and bring it in again: what is known already stays as it is.")
    st.markdown(
        "\n".join(
            f"- {words.escaped(file)}, line {line}: {words.escaped(reason)}"
            for file, line, reason, _ in table.head(_LISTED).iter_rows()
        )
    )
    more = table.height - _LISTED
    with st.expander(f"With what each says{f', and {more:,} more' if more > 0 else ''}"):
        st.dataframe(
            table.head(_SHOWN),
            hide_index=True,
            placeholder="",
            alt="Refused rows, each with its line and why",
            column_config={"Why it is refused": st.column_config.TextColumn(width="large")},
        )
        if table.height > _SHOWN:
            st.caption(f"The first {_SHOWN} are shown; the download has all {table.height:,}.")
    take_away.table(table, name, what="Refused rows")
