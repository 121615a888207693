"""A life table with what must be said about it, whether from the store or from a file."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.frames import LEFT_OUT, WORKING, empty_frame

UnknownCause = Literal["share", "capacitor", "other"]
DegradedAs = Literal["censored", "failed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How lives are read from reports.

    `parts`: original, replaced, partial or all; None means original, unless `parts` is itself a
    grouping. Original and replaced parts are never pooled unless `all` is asked for.
    """

    unknown_cause: UnknownCause = "share"
    degraded_as: DegradedAs = "censored"
    by_position: bool = False
    parts: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """Lives (frames.LIFE and group columns), with the units behind them where a store has them.

    `open_sources` are the sources that never said since when they collect failures; `age_unit` is
    None for a file, whose unit only its owner knows.
    """

    lives: pl.DataFrame
    working: pl.DataFrame = field(default_factory=lambda: empty_frame(WORKING))
    left_out: pl.DataFrame = field(default_factory=lambda: empty_frame(LEFT_OUT))
    shares: pl.DataFrame = field(default_factory=pl.DataFrame)
    twice_told: pl.DataFrame = field(default_factory=pl.DataFrame)
    notes: tuple[str, ...] = ()
    open_sources: frozenset[str] = frozenset()
    from_store: bool = False
    age_unit: Literal["days", "years"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """A frame and the sentences that must go with it."""

    frame: pl.DataFrame
    notes: tuple[str, ...] = ()


def in_years(table: Table) -> Table:
    """The same table with its ages in years; a file's ages are left as they are."""
    if table.age_unit != "days":
        return table
    ages = pl.col("entry", "low", "high", "known_by") / DAYS_PER_YEAR
    return replace(table, lives=table.lives.with_columns(ages), age_unit="years")


def life_file(path: Path) -> Table:
    """The life table in a file, in the file's own unit of age. BadInput when it is none."""
    from fleet.lives import read_life_file

    read = read_life_file(path)
    return Table(lives=read.lives, notes=read.notes)
