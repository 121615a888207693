"""What the store knew on a day, every row it ever had, and single records."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.errors import NotKnown
from fleet.frames import clean_schema, known_schema, private_columns
from fleet.store.session import reading
from fleet.store.statements import fetch, statement, statement_for

if TYPE_CHECKING:
    import duckdb

# Rows come in this order, as far as the kind has the column.
_ORDER = ("source", "model", "unit", "date_earliest", "date_latest", "position", "record")
_DATED = ("reports", "readings")
OF_UNITS = ("units", "reports", "readings")  # kinds whose rows tell the story of one unit
_NAME_A_UNIT = (*OF_UNITS, "photos")


def known(
    path: Path, kinds: Sequence[str], *, as_of: date | None = None, unit: str | None = None
) -> dict[str, pl.DataFrame]:
    """The rows of each kind that stood on `as_of` (None: that stand now), known_schema(kind).

    A row stands when it was entered by then, no row that stands corrects it and it was not
    taken back; reports and readings only when they are of that day or earlier (their latest
    day, or their earliest where the end is open). Sorted, so that the same store gives the same
    frame. `unit`: of kinds that are about a unit, only the rows about this one.
    """

    def work(con: "duckdb.DuckDBPyConnection") -> dict[str, pl.DataFrame]:
        return {kind: standing(con, kind, as_of, unit=unit) for kind in kinds}

    return reading(path, work)


def standing(
    con: "duckdb.DuckDBPyConnection",
    kind: str,
    as_of: date | None,
    *,
    unit: str | None = None,
    imports: Sequence[str] | None = None,
) -> pl.DataFrame:
    """`known` of one kind on a connection that is open already; `imports`: only rows that came with
    one of these.
    """
    only = {"unit": unit} if unit is not None and kind in _NAME_A_UNIT else {}
    rows = fetch(con, statement_for("known", kind), {"as_of": as_of}, only=only, imports=imports)
    if as_of is not None and kind in _DATED:
        own_day = pl.coalesce("date_latest", "date_earliest")
        rows = rows.filter(own_day.is_null() | (own_day <= as_of))
    return _sorted(rows.select(known_schema(kind).names()))


def known_private(path: Path, kind: str, *, unit: str | None = None) -> pl.DataFrame:
    """Record, unit and private columns of the rows that stand now, of one unit or of all. For the
    few functions that decide who may see them; nothing else hands private columns on.
    """
    only = {} if unit is None else {"unit": unit}

    def work(con: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
        return fetch(con, statement_for("known", kind), {"as_of": None}, only=only)

    return _sorted(reading(path, work).select("record", "unit", *private_columns(kind)))


def history(path: Path, kind: str) -> pl.DataFrame:
    """Every row of a kind ever entered: the columns of clean_schema(kind) but the private ones,
    import_id, superseded_by (the standing record that corrects it, or null) and withdrawn_by (the
    record that took it back, or null). Sorted as `known` is.
    """
    return _history(path, kind, None)


def unit_history(path: Path, unit: str, kinds: Sequence[str] = OF_UNITS) -> dict[str, pl.DataFrame]:
    """Every row of each kind ever entered of one unit, columns as in `history`, and superseded_on,
    withdrawn_on (when the row that did so was entered) and taken_back_by (who took it back).

    Raises NotKnown for a kind whose rows are about no unit.
    """
    strange = [kind for kind in kinds if kind not in _NAME_A_UNIT]
    if strange:
        which = ", ".join(_NAME_A_UNIT)
        raise NotKnown(f"{strange[0]} records are about no unit; of {which} each is")

    def work(con: "duckdb.DuckDBPyConnection") -> dict[str, pl.DataFrame]:
        values = {"unit": unit}
        return {kind: fetch(con, statement_for("unit_history", kind), values) for kind in kinds}

    more = ("import_id", "superseded_by", "superseded_on", "withdrawn_by", "withdrawn_on",
            "taken_back_by")  # fmt: skip
    return {
        kind: _sorted(rows.select(*_told(kind), *more))
        for kind, rows in reading(path, work).items()
    }


def _told(kind: str) -> list[str]:
    return [name for name in clean_schema(kind).names() if name not in private_columns(kind)]


def _history(path: Path, kind: str, record: str | None, *, private: bool = False) -> pl.DataFrame:
    def work(con: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
        return fetch(con, statement_for("history", kind), {"record": record})

    names = clean_schema(kind).names() if private else _told(kind)
    columns = [*names, "import_id", "superseded_by", "withdrawn_by"]
    return _sorted(reading(path, work).select(columns))


def find_record(path: Path, start: str, *, private: bool = False) -> tuple[str, pl.DataFrame]:
    """The kind of one record and its row, columns as in `history`.

    Parameters
    ----------
    start
        A record's id, or as much of its beginning as no other id shares.
    private
        With its private columns: to write them again in a correction, never to show them.

    Raises
    ------
    NotKnown
        No id begins so, or several do.
    """

    def work(con: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
        return fetch(con, statement("find_record"), {"start": start})

    found = reading(path, work) if start else pl.DataFrame(schema={"record": pl.String})
    if found.is_empty():
        raise NotKnown(
            f"no record's id begins with {start!r}; take the id from a table or an export"
        )
    ids = found["record"].to_list()
    if len(ids) > 1 and ids[0] != start:
        more = ", ..." if len(ids) > 5 else ""
        raise NotKnown(
            f"several ids begin with {start}: {', '.join(ids[:5])}{more}; write more of the one "
            "you mean"
        )
    kind = str(found["kind"][0])
    return kind, _history(path, kind, ids[0], private=private)


def imports(path: Path) -> pl.DataFrame:
    """Every import, oldest first: import_id, moment, today, by, what, rows, kept, already_known,
    rejected, taken_back (how many of its records an undo has taken back).
    """
    return reading(path, lambda con: fetch(con, statement("imports")))


def rejects(path: Path, import_id: str | None = None) -> pl.DataFrame:
    """Refused rows, of one import or of all: REJECTED and import_id. NotKnown where there is no
    such import.
    """

    def work(con: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
        if import_id is not None:
            check_import(con, import_id)
        return fetch(con, statement("rejects"), {"import_id": import_id})

    return reading(path, work)


def check_import(con: "duckdb.DuckDBPyConnection", import_id: str) -> None:
    """Raise NotKnown where there is no such import."""
    known_ids = fetch(con, statement("imports"))["import_id"].to_list()
    if import_id not in known_ids:
        have = f"the latest is {known_ids[-1]}" if known_ids else "the store has none yet"
        raise NotKnown(f"there is no import {import_id}; {have}")


def stamp(path: Path) -> str:
    """A text that changes with every write, for caches."""
    row = reading(path, lambda con: fetch(con, statement("stamp")))
    return f"{row['writes'][0]}-{row['token'][0]}"


def sort_columns(rows: pl.DataFrame) -> list[str]:
    """The columns that rows of a kind are sorted by, nulls last."""
    return [c for c in _ORDER if c in rows.columns]


def _sorted(rows: pl.DataFrame) -> pl.DataFrame:
    return rows.sort(sort_columns(rows), nulls_last=True)
