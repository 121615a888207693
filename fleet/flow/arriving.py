"""Files that arrive from outside: kept within bounds, looked at, never run and never attached."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.errors import BadInput
from fleet.frames import KINDS
from fleet.records.read import SUFFIXES

if TYPE_CHECKING:
    from fleet.flow.gathering import HowToRead
    from fleet.records import Grid

MOST_BYTES = 50_000_000
MOST_UNPACKED = 1_000_000_000
TYPES = tuple(sorted(suffix.removeprefix(".") for suffix in SUFFIXES))
# kinds that are not offered: taking back is an undo, photos come as a folder
NEVER = ("withdrawn", "photos")
PASTED = "pasted.csv"
_SAMPLE = 5


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Arrived:
    """One table of a file that arrived. `table`: its name in errors and in HowToRead.tables;
    `kind`: what it seems to hold (None: not to be told); `as_it_is`: it is headed as ours are;
    `columns`: theirs to ours, as suggested for `kind`; `sample`: the first rows, their headers.
    """

    file: str
    table: str
    header: tuple[str, ...]
    rows: int
    kind: str | None
    as_it_is: bool
    columns: Mapping[str, str | None]
    sample: pl.DataFrame


def receive(name: str, data: bytes, folder: Path) -> Path:
    """Put the bytes of a file into `folder` (empty, nobody else's) under a plain form of its name.

    Raises BadInput for another type than TYPES, more than MOST_BYTES, or tables that would take
    more than MOST_UNPACKED when read.
    """
    from fleet.records.unpacked import unpacked_bytes

    plain = re.sub(r"[^\w .()+-]", "_", name.replace("\\", "/").rsplit("/", 1)[-1]).strip(" .")
    suffix = Path(plain).suffix.lower()
    if suffix not in SUFFIXES or not Path(plain).stem.strip(". "):
        raise BadInput(
            f"{plain or 'that file'} is no CSV, XLSX or Parquet file; save it as one of them"
        )
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"{plain} is larger than {MOST_BYTES // 1_000_000} MB; cut it in parts, or bring it in "
            "with: fleet import FILE"
        )
    path = folder / plain
    if path.exists():
        raise BadInput(f"{plain} is there twice; rename one of the two files")
    path.write_bytes(data)
    if unpacked_bytes(path) > MOST_UNPACKED:
        raise BadInput(
            f"{plain} would take more than {MOST_UNPACKED // 1_000_000} MB when read; cut it in "
            "parts"
        )
    return path


def look_at_tables(path: Path) -> list[Arrived]:
    """Every table of a file, with the kind and columns it seems to have.

    Open repair data gives none: such files are read as they are. Raises BadInput for a file that
    cannot be read.
    """
    from fleet.records import guess_kind, is_open_repair, read_grids

    if is_open_repair(path):
        return []
    out = []
    for grid in read_grids(path):
        named = path.stem if grid.file == path.name else grid.file.rsplit(" sheet ", 1)[-1]
        out.append(_arrived(path.name, grid, guess_kind(grid, name=named)))
    return out


def columns_for(arrived: Arrived, kind: str) -> dict[str, str | None]:
    """Columns suggested for a table if it is of this kind."""
    from fleet.records import suggest_columns

    return suggest_columns(_named(arrived.header), kind)


def columns_of(kind: str) -> list[str]:
    """Columns that a table of this kind may have, those needed first."""
    from fleet.records import column_names

    needed = needed_columns(kind)
    return [*needed, *(name for name in column_names(kind) if name not in needed)]


def needed_columns(kind: str) -> list[str]:
    """Columns without which no row of this kind can be kept."""
    return [column.name for column in KINDS[kind].columns if column.required]


def kinds() -> list[str]:
    """The kinds a table can be brought in as."""
    return [kind for kind in KINDS if kind not in NEVER]


def how_to_read(
    paths: Sequence[Path],
    *,
    kind: str | None,
    columns: Mapping[str, str | None],
    source: str | None,
) -> "HowToRead":
    """How to read files of which some columns have other names than ours.

    `columns`: theirs to ours, None leaves one out; the others must be ours. Raises BadInput for a
    column no file has, a column that is neither ours nor named, or a kind that cannot be told.
    """
    from fleet.flow.gathering import HowToRead
    from fleet.records import ForeignTable, column_names, guess_kind, read_grids
    from fleet.records.headers import plain_name

    if not columns:
        return HowToRead(source=source)
    tables: dict[str, ForeignTable | None] = {}
    seen: set[str] = set()
    for path in paths:
        for grid in read_grids(path):
            own = kind or guess_kind(grid, name=path.stem)
            if own is None:
                raise BadInput(f"{grid.file}: what its rows are cannot be told; say it with --as")
            seen |= set(grid.header)
            rest = {h: plain_name(h) for h in _named(grid.header) if h not in columns}
            strange = [h for h, name in rest.items() if name not in column_names(own)]
            if strange:
                raise BadInput(
                    f"{grid.file}: {', '.join(strange)} is no column of {own}; say which it is "
                    "with --column THEIRS=OURS, or leave it out with --column THEIRS="
                )
            mine = {h: ours for h, ours in columns.items() if h in grid.header}
            tables[grid.file] = ForeignTable(kind=own, columns={**rest, **mine})
    absent = [name for name in columns if name not in seen]
    if absent:
        raise BadInput(f"no file has a column {', '.join(absent)}; look at their first lines")
    return HowToRead(tables=tables, source=source)


def _arrived(file: str, grid: "Grid", kind: str | None) -> Arrived:
    from fleet.records import is_ours, suggest_columns

    header = _named(grid.header)
    cells = {f"c{i}": theirs for i, theirs in enumerate(grid.header) if theirs in header}
    own = [name for name in cells if list(cells.values()).count(cells[name]) == 1]
    return Arrived(
        file=file,
        table=grid.file,
        header=tuple(header),
        rows=grid.frame.height + grid.ragged.height,
        kind=kind,
        as_it_is=kind is not None and is_ours(header, kind),
        columns={} if kind is None else suggest_columns(header, kind),
        sample=grid.frame.select(own).rename({name: cells[name] for name in own}).head(_SAMPLE),
    )


def _named(header: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(theirs for theirs in header if theirs.strip()))
