"""Rows of a life table as histories of units that are repaired and go on."""

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from fleet.fits.rows import Floats, Ints, group_codes


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class History:
    """Units with the ages between which they were watched, and their failures.

    `keys`: one row per group. `group`, `entry`, `end` by unit; `event_unit`, `event_age` and
    `event_count` by unit and age of failure.
    """

    keys: pl.DataFrame
    group: Ints
    entry: Floats
    end: Floats
    event_unit: Ints
    event_age: Floats
    event_count: Floats

    @property
    def groups(self) -> int:
        """How many groups there are."""
        return max(self.keys.height, 1)


def histories(events: pl.DataFrame, unit: str, by: Sequence[str]) -> History:
    """The rows of each unit within its group together; failures of one age are added up."""
    keys, group = group_codes(events, by)
    _, code = group_codes(events, [*by, unit])
    rows = events.select("entry", "low", "high", "count").with_columns(
        _group=pl.Series(group, dtype=pl.Int64), _unit=pl.Series(code, dtype=pl.Int64)
    )
    units = rows.group_by("_unit").agg(
        pl.col("_group").first(), pl.col("entry").min(), pl.col("low").max()
    )
    units = units.sort("_unit")
    failed = (
        rows.filter(pl.col("high").is_not_null())
        .group_by("_unit", "low")
        .agg(pl.col("count").sum())
        .sort("_unit", "low")
    )
    return History(
        keys=keys,
        group=units["_group"].to_numpy(),
        entry=units["entry"].to_numpy(),
        end=units["low"].to_numpy(),
        event_unit=failed["_unit"].to_numpy(),
        event_age=failed["low"].to_numpy(),
        event_count=failed["count"].to_numpy(),
    )
