"""Check that a frame keeps its contract."""

import polars as pl

from fleet.errors import BadFrame


def check_frame(frame: pl.DataFrame, schema: pl.Schema, *, name: str) -> None:
    """Raise BadFrame unless `frame` has every column of `schema` with its type, and no NaN or
    infinity in them. Further columns are allowed; null means unknown.
    """
    for column, dtype in schema.items():
        if column not in frame.columns:
            raise BadFrame(
                f"the {name} table has no column {column}; it has {', '.join(frame.columns)}"
            )
        if frame.schema[column] != dtype:
            raise BadFrame(
                f"column {column} of the {name} table is {frame.schema[column]}, "
                f"it should be {dtype}"
            )
    floats = [c for c, dtype in schema.items() if dtype == pl.Float64]
    if not floats or frame.is_empty():
        return
    bad = frame.select(pl.col(floats).is_finite().not_().any())
    for column in floats:
        if bad[column][0]:
            raise BadFrame(
                f"column {column} of the {name} table holds NaN or infinity; leave unknown empty"
            )


def empty_frame(schema: pl.Schema) -> pl.DataFrame:
    """A frame without rows that keeps the contract."""
    return pl.DataFrame(schema=schema)
