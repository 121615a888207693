"""What is known of the machines behind the lives: heat, use, site; as numbers or names."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.errors import BadInput
from fleet.flow.table import Table
from fleet.frames import LIFE

HEAT = ("ambient_c", "temperature", "temperature_c")
USE = "hours_per_year"
_OF_UNITS = ("site", "ambient_c", USE)
_NAMES = (
    "model",
    "batch",
    "unit",
    "parts",
    "position",
    "source",
    "site",
    "end",
    "enrolled_because",
)
# what became of a set cannot explain how long it lasted
_OUTCOMES = ("reports", "set_no", "noticed", "end")
_YOUNGEST = 0.5  # years below which a meter reading says little about a year's use


def with_facts(
    table: Table, columns: Sequence[str], *, store: Path | None, as_of: date
) -> tuple[Table, tuple[str, ...]]:
    """The table with `columns` as numbers where they hold numbers, and what must be said.

    From a store, columns of its units are joined by unit; blank hours a year are read off hour
    meters where there are any. Raises BadInput for a column nobody has.
    """
    notes: tuple[str, ...] = ()
    if table.from_store and store is not None and set(columns) & set(_OF_UNITS):
        table, notes = _of_units(table, store, as_of)
    lives = table.lives
    able = [c for c in lives.columns if c not in (*LIFE, *_OUTCOMES)]
    for column in columns:
        if column not in able:
            raise BadInput(f"there is no column {column}; there are {', '.join(able)}")
    read = [c for c in columns if c not in _NAMES and lives.schema[c] == pl.String]
    numbers = [c for c in read if _all_numbers(lives[c])]
    blank = [pl.col(c).str.strip_chars().replace("", None) for c in read]
    if table.from_store and "batch" in columns:
        # a set of parts from several batches lists them by position: it has no one batch
        listed = pl.col("batch").str.contains(":", literal=True)
        blank.append(pl.when(~listed).then("batch").alias("batch"))
    lives = lives.with_columns(blank).with_columns(pl.col(c).cast(pl.Float64) for c in numbers)
    return replace(table, lives=lives), notes


def _all_numbers(texts: pl.Series) -> bool:
    told = texts.str.strip_chars().replace("", None).drop_nulls()
    numbers = told.cast(pl.Float64, strict=False)
    return len(told) > 0 and bool(numbers.is_finite().fill_null(value=False).all())


def _of_units(table: Table, store: Path, as_of: date) -> tuple[Table, tuple[str, ...]]:
    from fleet.flow.known import known_records

    records = known_records(store, ("units", "readings"), as_of=as_of)
    units = records["units"]
    metered = _metered(units, records["readings"])
    facts = units.select("unit", *_OF_UNITS).join(metered, on="unit", how="left")
    filled = pl.col(USE).is_null() & pl.col("_metered").is_not_null()
    taken = int(facts.select(filled.sum()).item())
    facts = facts.with_columns(pl.coalesce(USE, "_metered").alias(USE)).drop("_metered")
    lives = table.lives.join(facts, on="unit", how="left", maintain_order="left")
    whose = "1 machine come from its" if taken == 1 else f"{taken} machines come from their"
    note = f"hours a year of {whose} hour meter: last reading by age"
    return replace(table, lives=lives), (note,) if taken else ()


def _metered(units: pl.DataFrame, readings: pl.DataFrame) -> pl.DataFrame:
    """Hours a year of each unit with an hour-meter reading: unit, _metered."""
    hours = pl.col("capacitance").str.replace_all(r"[\s,h]", "").cast(pl.Float64, strict=False)
    last = (
        readings.filter(pl.col("position") == "hours")
        .select("unit", hours.alias("hours"), day="date_latest")
        .drop_nulls()
        .sort("unit", "day", "hours")
        .group_by("unit", maintain_order=True)
        .last()
    )
    early, late = pl.col("manufactured_earliest"), pl.col("manufactured_latest")
    built = early + (late - early) / 2
    age = (pl.col("day") - pl.col("built")).dt.total_days() / DAYS_PER_YEAR
    return (
        last.join(units.select("unit", built=built), on="unit")
        .with_columns(age=age)
        .filter((pl.col("age") >= _YOUNGEST) & (pl.col("hours") >= 0.0))
        .select("unit", _metered=pl.col("hours") / pl.col("age"))
    )
