"""What hurts the answers: whom to ask next, then each finding in a sentence with what to do."""

from typing import Any

import access
import health_links
import polars as pl
import streamlit as st
import take_away
import words

from fleet.flow.check_words import effect_in_words, in_a_sentence, worth_settling
from fleet.flow.table import Answer

ASK = "Ask next ("  # how the note begins that says what to ask for
_SHOWN = 20  # findings written out; the rest are in the table


def pages_open() -> frozenset[str]:
    """Pages a finding may link to that the role covers."""
    who = access.person()
    needed = {"views/log.py": "log", "views/bring_in.py": "manage"}
    return frozenset(
        page
        for page in health_links.PAGES
        if who.may(needed.get(page, "read"))  # type: ignore[arg-type]
    )


def ask_next(answer: Answer) -> None:
    """The one thing to ask for, and of which machines."""
    st.header("Whom to ask next", anchor=False)
    told = next((n.removeprefix(ASK) for n in answer.notes if n.startswith(ASK)), None)
    if told is None:
        st.markdown("Nothing that anybody could be asked for would change an answer.")
        return
    row = next(
        r for r in answer.frame.iter_rows(named=True) if told.startswith(f"{r['finding']}): ")
    )
    st.markdown(f"**{words.escaped(row['to_do'])}**")
    if row["units"]:
        st.caption("Machines to ask after first, to be copied into a message:")
        st.code(", ".join(row["units"]), language=None, wrap_lines=True)
    health_links.draw(row, open_to=pages_open(), key=0)


def findings(frame: pl.DataFrame) -> None:
    """Each finding, the worst first; all of them as a table and files."""
    st.header("What hurts the answers, the worst first", anchor=False)
    if frame.is_empty():
        st.success("Nothing was found that hurts the answers.", icon=":material/check:")
        return
    rows = frame.to_dicts()
    much = sum(worth_settling(row) for row in rows)
    st.markdown(
        f"{words.counted(frame.height, 'finding')}; settling "
        f"{'it' if frame.height == much == 1 else f'{much} of them'} would change an answer or "
        "may do so."
    )
    _cards([row for row in rows if worth_settling(row)][:_SHOWN])
    if much < frame.height:  # they come last
        rest = words.counted(frame.height - much, "finding")
        with st.expander(f"{rest} of which settling hardly changes an answer"):
            _cards([row for row in rows if not worth_settling(row)][:_SHOWN])
    table = _table(frame)
    with st.expander(f"All of them as a table ({frame.height})"):
        st.dataframe(table, hide_index=True, placeholder="", alt="Findings, the worst first")
    st.caption(
        "Effect: by how much settling it would move the age by which one in ten of a model has "
        "failed, or narrow its limits, for the model where that is most."
    )
    take_away.table(table, "findings", what="Findings")


def _cards(rows: list[dict[str, Any]]) -> None:
    open_to = pages_open()
    for row in rows:
        with st.container(border=True):
            st.markdown(
                f"**{row['rank']}.** {words.escaped(in_a_sentence(row))}. "
                f":blue-badge[{effect_in_words(row)}]"
            )
            st.markdown(f"What to do: {words.escaped(row['to_do'])}")
            health_links.draw(row, open_to=open_to, key=row["rank"])


def _table(frame: pl.DataFrame) -> pl.DataFrame:
    effects = [effect_in_words(row) for row in frame.iter_rows(named=True)]
    return frame.select(
        pl.col("rank").alias("Rank"),
        pl.col("to_do").alias("What to do"),
        pl.Series("Effect", effects, pl.String),
        pl.col("machines").alias("Machines"),
        pl.col("subject").alias("What or who"),
        pl.col("said").alias("Finding"),
    )
