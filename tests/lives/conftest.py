"""A small book of records to build lives from."""

from calendar import monthrange
from collections.abc import Callable
from datetime import date

import polars as pl
import pytest

from fleet.frames import known_schema
from fleet.lives import LifeTable, build_lives


def day_range(text: str | None) -> tuple[date | None, date | None]:
    """`1998`, `1998-07` or `1998-07-14` as first and last day."""
    if text is None:
        return None, None
    parts = [int(p) for p in text.split("-")]
    year, month, day = [*parts, 0, 0][:3]
    first = date(year, month or 1, day or 1)
    last_month = month or 12
    return first, date(year, last_month, day or monthrange(year, last_month)[1])


class Book:
    """Records written down one after another; ids are given or counted."""

    def __init__(self) -> None:
        self.rows: dict[str, list[dict]] = {
            k: [] for k in ("sources", "models", "positions", "batches", "units", "reports")
        }

    def add(self, kind: str, /, **fields) -> "Book":
        row = dict.fromkeys(known_schema(kind))
        row["record"] = f"{kind}{len(self.rows[kind]) + 1}"
        row["content"] = str(sorted(fields.items(), key=lambda f: f[0]))
        for name, value in fields.items():
            if f"{name}_earliest" in row:
                row[name] = value
                row[f"{name}_earliest"], row[f"{name}_latest"] = day_range(value)
            else:
                row[name] = day_range(value)[0] if name == "entered_on" else value
        self.rows[kind].append(row)
        return self

    def unit(self, unit="u", manufactured=None, enrolled_on=None, because="working", **more):
        fields = {"model": "M", **more}
        return self.add(
            "units",
            unit=unit,
            manufactured=manufactured,
            enrolled_on=enrolled_on,
            enrolled_because=because,
            **fields,
        )

    def report(self, date, kind, unit="u", **more):
        if kind == "failed" and "cause" not in more:
            more["cause"] = "capacitor"
        return self.add("reports", unit=unit, date=date, kind=kind, **more)

    def records(self) -> dict[str, pl.DataFrame]:
        return {k: pl.DataFrame(rows, schema=known_schema(k)) for k, rows in self.rows.items()}

    def build(self, as_of: date = date(2025, 1, 1), **options) -> LifeTable:
        return build_lives(self.records(), as_of=as_of, **options)


def short(table: LifeTable, *more: str) -> list[tuple]:
    """entry, low, high, known_by, count, end of each life and what else is asked for."""
    columns = ["entry", "low", "high", "known_by", "count", "end", *more]
    return table.lives.select(columns).rows()


@pytest.fixture(scope="session")
def new_book() -> Callable[[], Book]:
    return Book


@pytest.fixture(scope="session")
def rows() -> Callable[..., list[tuple]]:
    return short


@pytest.fixture
def book() -> Book:
    return Book()
