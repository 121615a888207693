"""The store's own format: numbered steps, each applied once, and the version they make."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.errors import StoreProblem
from fleet.store.statements import FOLDER, fetch, run, statement

if TYPE_CHECKING:
    import duckdb

PROGRAM = "fleet store"


def steps(folder: Path = FOLDER) -> dict[int, Path]:
    """The numbered schema steps, in order."""
    found = sorted(p for p in folder.glob("*.sql") if re.match(r"\d{3}_", p.name))
    return {int(p.name[:3]): p for p in found}


def newest() -> int:
    """The format version this program writes."""
    return max(steps())


def version(con: "duckdb.DuckDBPyConnection", path: Path) -> int:
    """The format version of the open store.

    Raises
    ------
    StoreProblem
        It is another program's database, or a store of a newer version.
    """
    import duckdb

    try:
        found = fetch(con, statement("version"))
    except (duckdb.CatalogException, duckdb.BinderException):
        found = None
    if found is None or found.height != 1 or found["program"][0] != PROGRAM:
        raise StoreProblem(
            f"{path} is a database, but not a store of this program; give the path of a store"
        )
    step = int(found["step"][0])
    if step > newest():
        raise StoreProblem(
            f"{path} is a store of format {step} and this program knows up to {newest()}; "
            "update the program, the file is unchanged"
        )
    return step


def apply_steps(con: "duckdb.DuckDBPyConnection", *, after: int) -> None:
    """Apply every step numbered higher than `after`, all in the caller's transaction."""
    for number, path in steps().items():
        if number > after:
            con.execute(path.read_text(encoding="utf-8"))
            run(con, "record_step", step=number, name=path.stem)
