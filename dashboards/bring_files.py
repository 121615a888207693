"""Taking files or pasted text in, and choosing what their tables and columns are."""

from collections.abc import Mapping

import bring_reads
import polars as pl
import streamlit as st
import words
from bring_reads import Files

from fleet.flow.arriving import (
    MOST_BYTES,
    PASTED,
    TYPES,
    Arrived,
    columns_for,
    columns_of,
    kinds,
    needed_columns,
)
from fleet.flow.gathering import ForeignTable, HowToRead
from fleet.frames import COMMON, KINDS

_FROM = {"files": "From files", "text": "From pasted text"}
_LEFT_OUT = ""
_SAMPLE = 3


def take() -> Files | None:
    """What the person gives: files, or text; None until there is something."""
    state = st.session_state
    state.setdefault("bring_round", 0)
    if state.pop("bring_emptied", False):
        state["bring_text"] = ""
    how = st.radio(
        "Where the rows come from",
        list(_FROM),
        format_func=_FROM.__getitem__,
        horizontal=True,
        key="bring_from",
    )
    if how == "text":
        text = st.text_area(
            "Rows",
            key="bring_text",
            persist_state="session",
            height=180,
            placeholder="unit,date,kind\nU-007,2026-05-01,working",
            help="The first line names the columns; cells are parted by comma, semicolon or tab, "
            "as copied from a spreadsheet.",
        )
        return bring_reads.files_of([(PASTED, text.encode())]) if text.strip() else None
    most = MOST_BYTES // 1_000_000
    given = st.file_uploader(
        f"CSV, XLSX or Parquet files, {most} MB each at most",
        type=list(TYPES),
        accept_multiple_files=True,
        max_upload_size=most,
        key=f"bring_files_{state['bring_round']}",
        help="They are read as text, never run, and not kept: only their rows are.",
    )
    named = [(file.name, file.getvalue()) for file in given or ()]
    return bring_reads.files_of(named) if named else None


def empty() -> None:
    """Forget what was given, after it was brought in; the text when it is next drawn."""
    state = st.session_state
    state["bring_round"] = state.get("bring_round", 0) + 1
    state["bring_emptied"] = True


def choose(files: Files, sources: list[str]) -> HowToRead | None:
    """What each table is and which column is which; None while something is to be settled."""
    tables = bring_reads.arrived(files)
    others = len(files.names) - len({table.file for table in tables})
    if others:
        st.markdown(
            f"{words.counted(others, 'file')} of open repair data: read as they are, each row a "
            "machine that failed."
        )
    chosen: dict[str, ForeignTable | None] = {}
    ready = True
    for table in tables:
        with st.container(border=True):
            one, settled = _choose_table(table, files.print)
        chosen[table.table] = one
        ready &= settled
    source = st.selectbox(
        "Who collected rows that do not say",
        sources,
        index=None,
        accept_new_options=True,
        filter_mode="contains",
        placeholder="a source; blank: nobody is named",
        key="bring_source",
    )
    if tables and not others and all(one is None for one in chosen.values()):
        st.info("Every table is left out; say of one at least what its rows are.")
        return None
    return HowToRead(tables=chosen, source=source) if ready else None


def _choose_table(table: Arrived, key: str) -> tuple[ForeignTable | None, bool]:
    """One table as it is to be read (None: left out), and whether that can be."""
    st.markdown(
        f"**{words.escaped(table.table)}**: {words.counted(table.rows, 'row')}, "
        f"{words.counted(len(table.header), 'column')}"
    )
    options = [*kinds(), _LEFT_OUT]
    kind = st.selectbox(
        f"What the rows of {words.escaped(table.table)} are",
        options,
        index=options.index(table.kind) if table.kind else None,
        format_func=lambda k: f"{k}: {KINDS[k].about}" if k else "leave this table out",
        placeholder="not to be told from its columns: choose",
        key=f"bring_{key}_{table.table}_kind",
    )
    if kind is None:
        st.caption(":material/error: :red[Say what these rows are, or leave the table out.]")
        return None, False
    if kind == _LEFT_OUT:
        return None, True
    suggested = table.columns if kind == table.kind else columns_for(table, kind)
    alike = kind == table.kind and table.as_it_is
    label = "Columns: all are named as ours" if alike else "Which column is which"
    with st.expander(label, expanded=not alike, key=f"bring_{key}_{table.table}_columns"):
        columns = _choose_columns(table, kind, suggested, key)
    faults = _faults(columns, kind)
    for fault in faults:
        st.caption(f":material/error: :red[{words.escaped(fault)}]")
    return ForeignTable(kind=kind, columns=columns), not faults


def _choose_columns(
    table: Arrived, kind: str, suggested: Mapping[str, str | None], key: str
) -> dict[str, str | None]:
    needed = set(needed_columns(kind))
    about = {column.name: column.about for column in (*COMMON, *KINDS[kind].columns)}
    options = [_LEFT_OUT, *columns_of(kind)]

    def named(ours: str) -> str:
        if not ours:
            return "leave it out"
        mark = " (needed)" if ours in needed else ""
        return f"{ours.replace('_', ' ')}{mark}{': ' if about.get(ours) else ''}{about.get(ours)}"

    chosen: dict[str, str | None] = {}
    for start in range(0, len(table.header), 2):
        for theirs, cell in zip(table.header[start : start + 2], st.columns(2), strict=False):
            first = suggested.get(theirs) or _LEFT_OUT
            ours = cell.selectbox(
                f"“{words.escaped(theirs)}” is",
                options,
                index=options.index(first),
                format_func=named,
                key=f"bring_{key}_{table.table}_{kind}_{theirs}",
            )
            cell.caption(_such_as(table.sample, theirs))
            chosen[theirs] = ours or None
    return chosen


def _such_as(sample: pl.DataFrame, column: str) -> str:
    if column not in sample.columns:
        return "this name is there twice"
    values = sample[column].drop_nulls().unique(maintain_order=True).head(_SAMPLE).to_list()
    shown = ", ".join(f"“{words.escaped(_short(value))}”" for value in values if value.strip())
    return f"such as {shown}" if shown else "its first rows are blank"


def _short(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= 30 else f"{plain[:29]}…"


def _faults(columns: Mapping[str, str | None], kind: str) -> list[str]:
    """What keeps the table from being read, each a sentence."""
    ours = [name for name in columns.values() if name]
    twice = sorted({name for name in ours if ours.count(name) > 1})
    missing = [name for name in needed_columns(kind) if name not in ours]
    return [
        *(
            f"Two columns are said to be the {name.replace('_', ' ')}; choose one."
            for name in twice
        ),
        *(f"No column is the {name.replace('_', ' ')}, which is needed." for name in missing),
    ]
