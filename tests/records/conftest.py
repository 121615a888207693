"""Small text tables for the tests of this folder."""

from datetime import date

import polars as pl
import pytest

from fleet.records import RawTable, clean

TODAY = date(2026, 11, 25)


@pytest.fixture
def raw():
    """A function that makes a RawTable from rows of cells by column; lines from 2."""

    def make(kind, *rows, file=None):
        names = list(dict.fromkeys(name for row in rows for name in row))
        frame = pl.DataFrame(
            {name: [row.get(name) for row in rows] for name in names},
            schema=dict.fromkeys(names, pl.String),
        )
        return RawTable(
            kind=kind,
            file=file or f"{kind}.csv",
            frame=frame.with_columns(pl.int_range(2, pl.len() + 2, dtype=pl.Int64).alias("line")),
        )

    return make


@pytest.fixture
def cleaned(raw):
    """A function that makes a cleaned table, entered by TODAY."""

    def make(kind, *rows, today=TODAY, **options):
        return clean(raw(kind, *rows), today=today, **options)

    return make
