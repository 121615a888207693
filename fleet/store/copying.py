"""Copies of a whole database through the engine, and names that nothing has yet."""

import os
import threading
from contextlib import closing
from itertools import count
from pathlib import Path

import polars as pl

from fleet.errors import StoreProblem
from fleet.store.engine import connect, connect_copier
from fleet.store.place import log_of
from fleet.store.statements import fetch, run, statement


def copy_database(source: Path, target: Path) -> None:
    """Copy the database `source` to the new file `target` through the engine."""
    discard(target)
    with closing(connect_copier(source, target)) as con:
        run(con, "attach_source", path=str(source.absolute()))
        run(con, "attach_target", path=str(target.absolute()))
        run(con, "copy")


def count_tables(path: Path) -> pl.DataFrame:
    """Rows of every table of the store at `path`: kind, rows."""
    with closing(connect(path, read_only=True)) as con:
        return fetch(con, statement("count_tables"))


def unused_name(path: Path, word: str) -> Path:
    """A name beside `path` with `word` in it that nothing has."""
    tails = ("" if number == 1 else f"-{number}" for number in count(1))
    names = (path.with_name(f"{path.stem}.{word}{tail}{path.suffix}") for tail in tails)
    return next(name for name in names if not name.exists())


def passing_name(path: Path) -> Path:
    """A name beside `path` for a file that this process alone is making."""
    return unused_name(path, f"making-{os.getpid()}-{threading.get_ident()}")


def settle(fresh: Path, target: Path) -> None:
    """Give the finished file `fresh` the name `target`, never over something that is there."""
    taken = StoreProblem(f"there is already a file at {target}; choose another name")
    try:
        # A hard link is refused where the name is taken, even if it was taken just now.
        os.link(fresh, target)
    except FileExistsError as fault:
        raise taken from fault
    except OSError:  # a disk without hard links
        if target.exists():
            raise taken from None
        fresh.rename(target)
    else:
        fresh.unlink()


def discard(path: Path) -> None:
    """Remove a file of our own making and its log, where there."""
    path.unlink(missing_ok=True)
    log_of(path).unlink(missing_ok=True)
