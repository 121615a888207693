"""The SQL files beside this module, and the one step from the engine to Polars."""

from collections.abc import Mapping, Sequence
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
    imports: Sequence[str] | None = None,
) -> pl.DataFrame:
    """The rows of one SELECT with its $names bound to `values`; only those that hold `only`, and
    that came with one of some `imports`.
    """
    from duckdb import ColumnExpression, ConstantExpression

    found = con.sql(text, params=dict(values or {}))
    if imports is not None:
        # By values written in, not bound: the engine then passes over what cannot hold them.
        found = found.filter(ColumnExpression("import_id").isin(*map(ConstantExpression, imports)))
    for column, value in (only or {}).items():
        found = found.filter(ColumnExpression(column) == ConstantExpression(value))
    # Not found.pl(): that takes the way by pyarrow and numpy, whose import costs 0.2 s.
    return pl.DataFrame(found)


class _Stream:
    """A frame that shows the engine its Arrow stream alone, for the same reason."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self._frame = frame

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        return self._frame.__arrow_c_stream__(requested_schema)


def register(con: "duckdb.DuckDBPyConnection", name: str, frame: pl.DataFrame) -> None:
    """Let statements on this connection read `frame` as a table, until it is unregistered."""
    con.register(name, _Stream(frame))


def run(con: "duckdb.DuckDBPyConnection", name: str, /, **values: object) -> None:
    """Run sql/`name`.sql, which gives no rows, with its $names bound to `values`."""
    con.execute(statement(name), values)
