"""One piece of reading or writing: open, check the format, do it in a transaction, close."""

from collections.abc import Callable
from contextlib import closing
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from fleet.store.copying import copy_database, discard, passing_name, settle, unused_name
from fleet.store.engine import connect, patiently
from fleet.store.place import check_new_file, check_store_file, is_there, log_of
from fleet.store.schema import apply_steps, newest, version

if TYPE_CHECKING:
    import duckdb

T = TypeVar("T")

# The store that `together` holds open in this thread, and its connection.
_HELD: ContextVar[tuple[Path, "duckdb.DuckDBPyConnection"] | None] = ContextVar(
    "held", default=None
)


def create(path: Path) -> None:
    """Make a new, empty store.

    Raises
    ------
    StoreProblem
        There is something at `path`, its folder is missing or may not be written, or it lies
        on a network share.
    """
    check_new_file(path)
    # Under another name first, so that nobody ever meets half a store.
    fresh = passing_name(path)

    def build() -> None:
        with closing(connect(fresh, read_only=False)) as con:
            con.execute("BEGIN")
            apply_steps(con, after=0)
            con.execute("COMMIT")

    try:
        patiently(path, build, verb="written")
        settle(fresh, path)
    finally:
        discard(fresh)


def reading(path: Path, work: Callable[["duckdb.DuckDBPyConnection"], T]) -> T:
    """The result of `work` on a read-only connection. StoreProblem where it cannot be read."""
    held = _held(path)
    if held is not None:
        return work(held)
    check_store_file(path)

    def attempt() -> T:
        with closing(connect(path, read_only=True)) as con:
            _check_newest(con, path)
            return work(con)

    return _brought_up_to_date(path, lambda: patiently(path, attempt, verb="read"))


def writing(path: Path, work: Callable[["duckdb.DuckDBPyConnection"], T]) -> T:
    """The result of `work` in one write transaction: all of it is stored, or nothing.

    `work` may run more than once, when another writer was quicker. StoreProblem where the
    store cannot be written.
    """
    held = _held(path)
    if held is not None:
        return work(held)
    check_store_file(path)

    def attempt() -> T:
        if is_there(log_of(path)):
            # Opening for writing works the log in; a newer store must stay as it is.
            with closing(connect(path, read_only=True)) as con:
                version(con, path)
        with closing(connect(path, read_only=False)) as con:
            _check_newest(con, path)
            con.execute("BEGIN")
            # Closing without COMMIT, on any fault, leaves the file as it was.
            result = work(con)
            con.execute("COMMIT")
            return result

    return _brought_up_to_date(path, lambda: patiently(path, attempt, verb="written"))


def together(path: Path, work: Callable[[], T]) -> T:
    """The result of `work`, in which all reading and writing of this store is one transaction.

    What it read is still so when it writes, and the file is opened once. `work` may run more
    than once, as that of `writing`; what it raises leaves the store as it was.
    """

    def holding(con: "duckdb.DuckDBPyConnection") -> T:
        token = _HELD.set((path.absolute(), con))
        try:
            return work()
        finally:
            _HELD.reset(token)

    return writing(path, holding)


def _held(path: Path) -> "duckdb.DuckDBPyConnection | None":
    held = _HELD.get()
    return held[1] if held is not None and held[0] == path.absolute() else None


class _Older(Exception):
    """The store is of an older format than the statements are written for."""


def _check_newest(con: "duckdb.DuckDBPyConnection", path: Path) -> None:
    if version(con, path) < newest():
        raise _Older


def _brought_up_to_date(path: Path, work: Callable[[], T]) -> T:
    try:
        return work()
    except _Older:
        bring_up_to_date(path)
        return work()


def bring_up_to_date(path: Path) -> Path | None:
    """Apply the schema steps an older store lacks; the copy made before, or None if none was.

    Reading an older store does this too: the statements are written for the newest format.
    """

    def look() -> int:
        with closing(connect(path, read_only=True)) as con:
            return version(con, path)

    def step_up() -> None:
        with closing(connect(path, read_only=False)) as con:
            con.execute("BEGIN")
            apply_steps(con, after=version(con, path))
            con.execute("COMMIT")

    before = patiently(path, look, verb="read")
    if before >= newest():
        return None
    kept = unused_name(path, f"format-{before}")
    patiently(path, lambda: copy_database(path, kept), verb="written")
    patiently(path, step_up, verb="written")
    return kept
