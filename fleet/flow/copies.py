"""The store copied: as record files, as a backup, and back from one."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import StoreProblem
from fleet.flow.photo_files import without_photos, write_pictures
from fleet.frames import KINDS


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Exported:
    """What was written: `files` (file, rows; pictures as the folder they are in), and `notes`."""

    files: pl.DataFrame
    notes: tuple[str, ...]


def export_store(
    store: Path,
    folder: Path,
    *,
    form: str = "csv",
    photos: bool = False,
    today: date,
    by: str | None = None,
) -> Exported:
    """Every record ever entered as record files. Importing them loses nothing but what is private:
    an owner's private notes, which are never written, and photos, unless `photos` asks for them.
    """
    from fleet.records import write_tables
    from fleet.store import history

    tables = {kind: history(store, kind) for kind in KINDS}
    said, count = "", 0
    if photos:
        count = write_pictures(store, tables["photos"], folder)
    else:
        tables, said = without_photos(tables)
    files = write_tables(folder, tables, form=form)
    if count:
        files = files.vstack(pl.DataFrame({"file": ["photos/"], "rows": [count]}, files.schema))
    _note(store, f"exported to {folder.name}{' with photos' * photos}", today=today, by=by)
    notes = (said, _like_formulas(tables) if form == "csv" else "", _with_notes(tables))
    return Exported(files=files, notes=tuple(note for note in notes if note))


def back_up(store: Path, target: Path, *, today: date, by: str | None = None) -> pl.DataFrame:
    """A proved copy of the store: kind, rows."""
    from fleet.store import backup

    counts = backup(store, target)
    _note(store, f"backed up to {target.name}", today=today, by=by)
    return counts


def restore_store(backup: Path, store: Path, *, today: date, by: str | None = None) -> pl.DataFrame:
    """The store as the backup has it: kind, rows."""
    from fleet.store import restore

    counts = restore(backup, store)
    _note(store, f"restored from {backup.name}", today=today, by=by)
    return counts


def _like_formulas(tables: Mapping[str, pl.DataFrame]) -> str:
    """That texts begin like formulas; they are written as they are, to be read back unchanged."""
    from fleet.flow.formulas import like_formulas

    texts = pl.sum_horizontal(pl.lit(0), like_formulas(pl.col(pl.String)).sum())
    cells = sum(frame.select(texts).item() for frame in tables.values() if frame.height)
    if not cells:
        return ""
    said = "1 text begins" if cells == 1 else f"{cells:,} texts begin"
    return (
        f"{said} like a formula (=, +, -, @), written unchanged so that import reads the same "
        "back; to look at the records in a spreadsheet, --form xlsx is safer"
    )


def _with_notes(tables: Mapping[str, pl.DataFrame]) -> str:
    """That notes of units and reports are in the files."""
    there = pl.col("notes").fill_null("").str.strip_chars() != ""
    kinds = [k for k in ("units", "reports") if tables[k].select(there.any()).item()]
    if not kinds:
        return ""
    return (
        f"These files hold the notes of {' and '.join(kinds)}: read them before you pass the "
        "files on; an owner's private notes are left out"
    )


def _note(store: Path, what: str, *, today: date, by: str | None) -> None:
    """Write it down in the store's trail; a store that cannot be written is read all the same."""
    from fleet.store import note_act

    with suppress(StoreProblem):
        note_act(store, what, today=today, by=by)
