"""The SQL files beside this module, and the one step from the engine to Polars."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.errors import NotKnown
from fleet.frames import KINDS

if TYPE_CHECKING:
    import duckdb

FOLDER = Path(__file__).parent / "sql"


@cache
def statement(name: str) -> str:
    """The text of sql/`name`.sql."""
    return (FOLDER / f"{name}.sql").read_text(encoding="utf-8")


def statement_for(name: str, kind: str) -> str:
    """The text of sql/`name`.sql for the table of one record kind.

    A table name cannot be a bound value, so it is written in; only names in KINDS are, which
    hold letters alone.
    """
    if kind not in KINDS:
        raise NotKnown(f"there is no record kind {kind}; the kinds are {', '.join(KINDS)}")
    return statement(name).replace("__KIND__", kind)


def fetch(
    con: "duckdb.DuckDBPyConnection",
    text: str,
    values: Mapping[str, Any] | None = None,
    *,
    only: Mapping[str, str] | None = None,
) -> pl.DataFrame:
    """The rows of one SELECT with its $names bound to `values`; only those that hold `only`."""
    from duckdb import ColumnExpression, ConstantExpression

    found = con.sql(text, params=dict(values or {}))
    for column, value in (only or {}).items():
        found = found.filter(ColumnExpression(column) == ConstantExpression(value))
    rows: pl.DataFrame = found.pl()
    return rows


def run(con: "duckdb.DuckDBPyConnection", name: str, /, **values: object) -> None:
    """Run sql/`name`.sql, which gives no rows, with its $names bound to `values`."""
    con.execute(statement(name), values)
