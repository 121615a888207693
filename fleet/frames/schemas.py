"""Frame contracts that follow from the record kinds."""

import polars as pl

from fleet.frames.column import Form, Kind
from fleet.frames.kinds import KINDS

_TYPES: dict[Form, pl.DataType] = {
    "text": pl.String(),
    "choice": pl.String(),
    "number": pl.Float64(),
    "whole": pl.Int64(),
    "yes_no": pl.Boolean(),
}


def _columns(kind: Kind) -> dict[str, pl.DataType]:
    out: dict[str, pl.DataType] = {}
    for column in kind.columns:
        if column.form == "date":
            out[column.name] = pl.String()
            out[f"{column.name}_earliest"] = pl.Date()  # null: open
            out[f"{column.name}_latest"] = pl.Date()  # null: open
        else:
            out[column.name] = _TYPES[column.form]
    return out


def private_columns(kind: str) -> tuple[str, ...]:
    """Columns of a kind that the store keeps and hands on to nobody but who may see them."""
    return tuple(column.name for column in KINDS[kind].columns if column.private)


def clean_schema(kind: str) -> pl.Schema:
    """Columns of validated rows of a kind on their way into the store.

    `content` is the hash of the row's content; `reconstructed` says that `entered_on` was blank
    and stands in for the record's own date.
    """
    return pl.Schema(
        {
            "file": pl.String(),
            "line": pl.Int64(),
            "record": pl.String(),
            "entered_on": pl.Date(),
            "reconstructed": pl.Boolean(),
            "supersedes": pl.String(),
            "source": pl.String(),
            "by": pl.String(),
            "content": pl.String(),
            **_columns(KINDS[kind]),
        }
    )


def known_schema(kind: str) -> pl.Schema:
    """Columns of rows of a kind as the store gives them back for one as-of date, without private
    columns.
    """
    clean = dict(clean_schema(kind))
    for name in ("file", "line", *private_columns(kind)):
        del clean[name]
    return pl.Schema({**clean, "import_id": pl.String()})
