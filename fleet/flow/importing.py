"""Files into the store in one go: everything that can be kept, the rest refused with reasons."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.flow.prepare import clean_all, known_names, settle
from fleet.frames import REJECTED, empty_frame

if TYPE_CHECKING:
    from fleet.records import Meta, RawTable

COUNTS = pl.Schema(
    {
        "file": pl.String(),
        "kind": pl.String(),
        "rows": pl.Int64(),
        "kept": pl.Int64(),
        "rejected": pl.Int64(),
        "already_known": pl.Int64(),
    }
)
_OPEN_REPAIR = "open repair data"


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Imported:
    """What became of the files: `import_id` is None when nothing was new; `counts` has one row
    per file and kind, rows = kept + rejected + already_known; `rejected` (REJECTED) the refused
    rows of this import; `notes` sentences.
    """

    import_id: str | None
    counts: pl.DataFrame
    rejected: pl.DataFrame
    notes: tuple[str, ...]


class _Gathered:
    """Tables of all files of one import by kind, with what was refused and said on the way."""

    def __init__(self) -> None:
        self.tables: dict[str, list[pl.DataFrame]] = {}
        self.rejected: list[pl.DataFrame] = [empty_frame(REJECTED)]
        self.notes: list[str] = []
        self.open_repair: list[str] = []
        self.empty: list[tuple[str, str]] = []

    def add(self, kind: str, kept: pl.DataFrame, rejected: pl.DataFrame) -> None:
        self.tables.setdefault(kind, []).append(kept)
        self.rejected.append(rejected)


def import_files(
    store: Path,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    today: date,
    by: str | None,
    aliases: Mapping[str, str] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Imported:
    """Record files, folders of them, or open repair data into the store, in one transaction.

    Raises BadInput for a file that cannot be read as a table of ours (then nothing is kept) and
    StoreProblem for the store; a row that cannot be is refused by itself.
    """
    from fleet.store import append

    say = progress or (lambda _: None)
    known = known_names(store)
    gathered = _Gathered()
    for path in paths:
        say(f"reading {path.name}")
        _gather(path, gathered, known, kind=kind, today=today)
    say("matching names")
    tables = {name: pl.concat(frames) for name, frames in gathered.tables.items()}
    settled = settle(tables, known, by=by, aliases=aliases)
    rejected = pl.concat([*gathered.rejected, settled.rejected])
    say("writing to the store")
    what = ", ".join(path.name for path in paths)
    done = append(store, settled.tables, rejected, what=what, today=today, by=by)
    return Imported(
        import_id=done.import_id,
        counts=_counts(done.counts, gathered),
        rejected=done.rejected,
        notes=tuple(dict.fromkeys((*gathered.notes, *settled.notes))),
    )


def undo_import(store: Path, import_id: str, *, today: date, by: str | None) -> int:
    """Take back every record of an import; how many. NotKnown or Conflict when it cannot be."""
    from fleet.store import withdraw

    return withdraw(store, import_id=import_id, today=today, by=by)


def list_imports(store: Path) -> pl.DataFrame:
    """Every import: import_id, moment, today, by, what, rows, kept, already_known, rejected,
    taken_back.
    """
    from fleet.store import imports

    return imports(store)


def list_rejects(store: Path, import_id: str | None) -> pl.DataFrame:
    """Rows refused by one import, or by all: REJECTED and import_id."""
    from fleet.store import rejects

    return rejects(store, import_id)


def export_store(store: Path, folder: Path, *, form: str = "csv") -> pl.DataFrame:
    """Every record ever entered as record files: file, rows. Importing them loses nothing."""
    from fleet.frames import KINDS
    from fleet.records import write_tables
    from fleet.store import history

    return write_tables(folder, {kind: history(store, kind) for kind in KINDS}, form=form)


def back_up(store: Path, target: Path) -> pl.DataFrame:
    """A proved copy of the store: kind, rows."""
    from fleet.store import backup

    return backup(store, target)


def restore_store(backup: Path, store: Path) -> pl.DataFrame:
    """The store as the backup has it: kind, rows."""
    from fleet.store import restore

    return restore(backup, store)


def _gather(
    path: Path,
    gathered: _Gathered,
    known: Mapping[str, pl.DataFrame],
    *,
    kind: str | None,
    today: date,
) -> None:
    from fleet.records import is_open_repair, read_meta, read_open_repair, read_tables

    if kind is None and is_open_repair(path):
        read = read_open_repair(path, today=today)
        gathered.open_repair.append(read.file)
        gathered.notes += read.notes
        gathered.rejected.append(read.rejected)
        for name, frame in read.tables.items():
            gathered.add(name, frame, empty_frame(REJECTED))
        return
    meta = read_meta(path)
    raws = read_tables(path, kind=kind)
    raws += _sources_of(meta, raws, known, gathered)
    for name, kept, rejected, said in clean_all(raws, meta, known, today=today):
        gathered.add(name, kept, rejected)
        gathered.notes += said
    gathered.empty += [(raw.file, raw.kind) for raw in raws if raw.rows == 0]


def _sources_of(
    meta: "Meta",
    raws: Sequence["RawTable"],
    known: Mapping[str, pl.DataFrame],
    gathered: _Gathered,
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


def _counts(counts: pl.DataFrame, gathered: _Gathered) -> pl.DataFrame:
    """Counts per file and kind; rows of open repair files as rows of the file, each one unit."""
    renamed = counts.rename({"rows_kept": "kept"}).select(COUNTS.names()).cast(COUNTS)
    ours = ~pl.col("file").is_in(gathered.open_repair)
    theirs = (
        renamed.filter(~ours & pl.col("kind").is_in(["units", _OPEN_REPAIR]))
        .group_by("file", maintain_order=True)
        .agg(
            pl.lit(_OPEN_REPAIR).alias("kind"),
            pl.col("rows", "kept", "rejected", "already_known").sum(),
        )
    )
    empty = pl.DataFrame(
        [(*pair, 0, 0, 0, 0) for pair in gathered.empty], schema=COUNTS, orient="row"
    )
    hidden = (pl.col("file") == "meta.json") & (pl.col("rejected") == 0)
    return pl.concat([renamed.filter(ours & ~hidden), theirs.select(COUNTS.names()), empty])
