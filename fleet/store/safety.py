"""Backup and restore: copied through the engine, proved by opening the copy and counting."""

from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import StoreProblem
from fleet.frames import KINDS
from fleet.store.copying import (
    copy_database,
    count_tables,
    discard,
    passing_name,
    settle,
    unused_name,
)
from fleet.store.engine import patiently
from fleet.store.place import (
    check_new_file,
    check_place,
    check_store_file,
    is_there,
    log_of,
)
from fleet.store.reads import stamp


def backup(path: Path, target: Path) -> pl.DataFrame:
    """Copy the store to the new file `target` and prove the copy: kind, rows of each kind.

    Raises
    ------
    StoreProblem
        There is something at `target`, or it cannot be written, or the copy does not hold what
        the store holds (and is thrown away).
    """
    check_new_file(target)
    return _proved_copy(path, target)


def restore(
    backup: Path, path: Path, *, replace: bool = False, today: date | None = None
) -> pl.DataFrame:
    """Make a store at `path` from a backup, proved as in `backup`: kind, rows.

    Parameters
    ----------
    replace
        The store at `path` is kept beside it under a name with `today` in it; otherwise there
        may be nothing at `path`.
    """
    check_store_file(backup)
    check_place(path)
    if not is_there(path):
        check_new_file(path)
        return _proved_copy(backup, path)
    if not replace:
        raise StoreProblem(
            f"there is already a file at {path}; restore under another name, or say that it is "
            "to be replaced (it is kept beside under a dated name)"
        )
    if path.is_dir():
        raise StoreProblem(f"{path} is a folder, not a store; give the path of the store's file")
    fresh = passing_name(path)
    try:
        counts = _proved_copy(backup, fresh)
        # Renamed as it is, log and all, without opening it: it may be damaged.
        aside = unused_name(path, f"before-restore-{today.isoformat()}" if today else "replaced")
        log = log_of(path)
        path.rename(aside)
        if log.exists():
            log.rename(log_of(aside))
        settle(fresh, path)
    finally:
        discard(fresh)
    return counts


def _proved_copy(source: Path, target: Path) -> pl.DataFrame:
    check_store_file(source)
    fresh = passing_name(target)
    try:
        while True:
            before = stamp(source)
            patiently(target, lambda: copy_database(source, fresh), verb="written")
            expected = patiently(source, lambda: count_tables(source), verb="read")
            if stamp(source) == before:
                break  # else somebody wrote in between: the count would not be of the copy
        found = patiently(fresh, lambda: count_tables(fresh), verb="read")
        if not found.equals(expected) or stamp(fresh) != before:
            raise StoreProblem(
                f"the copy {target} does not hold what {source} holds and was thrown away; check "
                "the disk and try again"
            )
        settle(fresh, target)
    finally:
        discard(fresh)
    return found.filter(pl.col("kind").is_in(list(KINDS)))
