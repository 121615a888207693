"""Who did what: every import and every write by hand, and what was done to the store as a whole."""

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.occasion import occasion
from fleet.store.session import reading, writing
from fleet.store.statements import fetch, run, statement

if TYPE_CHECKING:
    import duckdb


def note_act(path: Path, what: str, *, today: date, by: str | None) -> None:
    """Write down something that brings no records, such as a backup. The stamp stays: what the
    store knows is what it was. StoreProblem where the store cannot be written.
    """
    said = occasion()
    moment: datetime | None = said.moment()

    def work(con: "duckdb.DuckDBPyConnection") -> None:
        run(con, "add_act", moment=moment, today=today, by=said.who or by, through=said.through,
            what=what)  # fmt: skip

    writing(path, work)


def trail(path: Path, *, unit: str | None = None) -> pl.DataFrame:
    """One row for each import and kind of record in it, and for each act, oldest first.

    import_id (null for an act), moment, today, by, through, what, kind, unit (where all records
    are about one), records, corrections (how many of them correct another), record (where it is
    one). `unit`: only what was about this one.
    """
    return reading(path, lambda con: fetch(con, statement("trail"), {"unit": unit}))
