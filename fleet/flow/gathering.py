"""Files to cleaned tables by kind: what an import reads, before the store is asked about it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.flow.prepare import clean_all
from fleet.frames import REJECTED, empty_frame
from fleet.records.foreign import ForeignTable

__all__ = ["OPEN_REPAIR", "ForeignTable", "Gathered", "HowToRead", "gather"]

if TYPE_CHECKING:
    from fleet.records import Meta, RawTable

OPEN_REPAIR = "open repair data"


@dataclass(frozen=True, slots=True, kw_only=True)
class HowToRead:
    """How files are read whose tables are not named and headed as ours.

    `tables`: table (as `read_grids` names it) to its kind and columns; None leaves a table out;
    empty: tables are read as they are. `source`: who collected the rows that do not say.
    """

    tables: Mapping[str, ForeignTable | None] = field(default_factory=dict)
    source: str | None = None


class Gathered:
    """Tables of all files of one import by kind, with what was refused and said on the way."""

    def __init__(self) -> None:
        self.tables: dict[str, list[pl.DataFrame]] = {}
        self.rejected: list[pl.DataFrame] = [empty_frame(REJECTED)]
        self.notes: list[str] = []
        self.open_repair: list[str] = []
        self.empty: list[tuple[str, str]] = []

    def add(self, kind: str, kept: pl.DataFrame, rejected: pl.DataFrame) -> None:
        """One cleaned table, and what was refused of it."""
        self.tables.setdefault(kind, []).append(kept)
        self.rejected.append(rejected)


def gather(
    path: Path,
    gathered: Gathered,
    known: Mapping[str, pl.DataFrame],
    *,
    kind: str | None,
    today: date,
    how: HowToRead,
) -> None:
    """Read and clean one file or folder into `gathered`."""
    from fleet.records import is_open_repair, read_meta, read_open_repair, read_tables

    told = any(table == path.name for table in how.tables)
    if kind is None and not told and is_open_repair(path):
        read = read_open_repair(path, today=today)
        gathered.open_repair.append(read.file)
        gathered.notes += read.notes
        gathered.rejected.append(read.rejected)
        for name, frame in read.tables.items():
            gathered.add(name, frame, empty_frame(REJECTED))
        return
    meta = read_meta(path)
    if how.source and not meta.source:
        meta = replace(meta, source=how.source)
    raws = _as_told(path, how) if how.tables else read_tables(path, kind=kind)
    raws += _sources_of(meta, raws, known, gathered)
    for name, kept, rejected, said in clean_all(raws, meta, known, today=today):
        gathered.add(name, kept, rejected)
        gathered.notes += said
    gathered.empty += [(raw.file, raw.kind) for raw in raws if raw.rows == 0]


def _as_told(path: Path, how: HowToRead) -> list["RawTable"]:
    """The tables of a file under the kinds and columns that were chosen for them."""
    from fleet.records import as_record_file, read_grids, rename_columns

    told = [(grid, how.tables.get(grid.file)) for grid in read_grids(path)]
    return [
        as_record_file(rename_columns(grid, table), table.kind)
        for grid, table in told
        if table is not None
    ]


def _sources_of(
    meta: "Meta",
    raws: Sequence["RawTable"],
    known: Mapping[str, pl.DataFrame],
    gathered: Gathered,
) -> list["RawTable"]:
    """The sources record `meta.json` stands for, unless a record of that source says it already."""
    from fleet.records import meta_table

    table = meta_table(meta)
    if table is None:
        return []
    own = [raw.frame["source"].to_list() for raw in raws if raw.kind == "sources"]
    if any(meta.source in names for names in own):
        return []
    if meta.source in known["sources"]["source"].to_list():
        gathered.notes.append(
            f"{meta.file}: the store has a record of source {meta.source}, which stands; "
            "amend it if it changed"
        )
        return []
    return [table]
