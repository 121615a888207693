"""Opening the database file: briefly, hardened, patient with its lock, faults in plain words.

The file is never opened with Python's own `open`: closing it would drop the lock that another
thread of this process holds through the engine.
"""

import random
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from fleet.errors import StoreProblem

if TYPE_CHECKING:
    import duckdb

T = TypeVar("T")

PATIENCE_SECONDS = 10.0  # with one holder
PATIENCE_IN_ALL_SECONDS = 60.0  # while the holder changes: others are served, our turn comes

# A file from anywhere must not make the engine fetch, load or read anything else.
_CLOSED = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
}
_ALONE = {**_CLOSED, "enable_external_access": "false"}

_BUSY = (
    "conflict on",  # two writers in this process; the engine's words for a row and a table
    "transaction conflict",
    "write-write conflict",
    "could not set lock",
    "conflicting lock",
    "being used by another process",
    "different configuration than existing",
    "already attached",
    "unique file handle conflict",
)

# What the engine's message holds, and what that means for the person. First match wins.
_FAULTS = (
    (
        ("permission denied", "read-only file system", "read-only mode"),
        "the store {path} cannot be {verb}: its file, folder or disk does not allow it; "
        "copy it to a place where you may write, or ask for the right",
    ),
    (
        ("no space left", "disk full", "not enough space"),
        "the store {path} could not be written because the disk is full; nothing was changed, "
        "make room and try again",
    ),
    (
        ("not a valid duckdb database file", "external extensions is disabled"),
        "{path} is not a store; give the path of one, or make a new one elsewhere",
    ),
    (
        ("version number", "newer version", "storage version"),
        "{path} was written by a newer version of the program than this one; "
        "update the program, the file is unchanged",
    ),
    (
        ("corrupt", "could not read enough bytes", "failed to deserialize", "serialization error"),
        "the store {path} is damaged or cut short; restore your latest backup under a new name",
    ),
    (
        ("out of memory", "failed to allocate"),
        "there is not enough memory for this on the store {path}; nothing was changed, close "
        "other programs and try again",
    ),
)


def connect(path: Path, *, read_only: bool) -> "duckdb.DuckDBPyConnection":
    """A connection to the database file at `path` that can reach nothing but that file."""
    import duckdb

    con = duckdb.connect(str(path.absolute()), read_only=read_only, config=dict(_ALONE))
    _lock(con)
    return con


def connect_copier(source: Path, target: Path) -> "duckdb.DuckDBPyConnection":
    """A connection in memory that can reach nothing but `source` and the new file `target`."""
    import duckdb

    con = duckdb.connect(":memory:", config=dict(_CLOSED))
    # The names the engine may need: the file, its log, and the log's own while it is worked in.
    tails = ("", ".wal", ".wal.checkpoint", ".wal.recovery")
    allowed = [f"{path.absolute()}{tail}" for path in (source, target) for tail in tails]
    con.execute("SET allowed_paths = $allowed", {"allowed": allowed})
    con.execute("SET enable_external_access = false")
    _lock(con)
    return con


def _lock(con: "duckdb.DuckDBPyConnection") -> None:
    """No bar of progress, then no change of any setting.

    Where Python was started without a file (`python -c`, a notebook), the engine draws a bar on
    stdout, among our results, once a statement has taken two seconds.
    """
    import duckdb

    try:
        con.execute("SET enable_progress_bar = false")
        con.execute("SET lock_configuration = true")
    except duckdb.InvalidInputException as fault:
        # Another thread's connection to this file has locked what both share.
        if "has been locked" not in str(fault):
            raise


def patiently(path: Path, attempt: Callable[[], T], *, verb: str) -> T:
    """The result of `attempt`, tried again while another holds the file: for about ten seconds
    with the same one, for a minute while they take turns.

    Raises
    ------
    StoreProblem
        The lock stayed taken, or the engine could not read or write the file; `verb` (read,
        written) says what was wanted.
    """
    import duckdb

    began = since = time.monotonic()
    holder = ""
    chance = random.SystemRandom()  # two that wait must not wake together
    wait = 0.004
    while True:
        try:
            return attempt()
        except duckdb.Error as fault:
            if not _is_busy(fault):
                sentence = _explain(path, fault, verb)
                if sentence is None:
                    raise
                raise StoreProblem(sentence) from fault
            now = time.monotonic()
            if _holder(fault) != holder:
                holder, since = _holder(fault), now
            if now - since > PATIENCE_SECONDS or now - began > PATIENCE_IN_ALL_SECONDS:
                raise StoreProblem(
                    f"the store {path} is in use by {holder} and was not free in "
                    f"{now - began:.0f} seconds; nothing was changed, close that or try again"
                ) from fault
        # Never long: one that writes again at once leaves the file free for a moment only.
        time.sleep(wait * chance.uniform(0.5, 1.5))
        wait = min(wait * 1.5, 0.05)


def _is_busy(fault: Exception) -> bool:
    text = str(fault).lower()
    return any(sign in text for sign in _BUSY)


def _holder(fault: Exception) -> str:
    found = re.search(r"held in (.*?) \(PID (\d+)\)", str(fault))
    if found:
        return f"process {found[2]} ({Path(found[1]).name})"
    return "another part of this program or another program"


def _explain(path: Path, fault: Exception, verb: str) -> str | None:
    """The sentence for a fault of the file or the machine; None for a fault of ours."""
    import duckdb

    text = str(fault).lower()
    outside = isinstance(
        fault,
        duckdb.IOException
        | duckdb.FatalException
        | duckdb.SerializationException
        | duckdb.InternalException
        | duckdb.OutOfMemoryException
        | duckdb.PermissionException
        | duckdb.TransactionException,  # a commit that could not reach the disk
    )
    if not outside and type(fault) is not duckdb.Error:
        return None
    for signs, sentence in _FAULTS:
        if any(sign in text for sign in signs):
            return sentence.format(path=path, verb=verb)
    first = str(fault).splitlines()[0]
    return f"the store {path} could not be {verb}: {first}"
