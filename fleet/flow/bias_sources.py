"""How complete the records of each contributor are. METHODS: bias."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.failures_once import failures_once
from fleet.flow.read_aloud import number
from fleet.flow.table import Answer, Table

COMPLETENESS = pl.Schema(
    {
        "source": pl.String(),  # null: records that name none
        "units": pl.Int64(),  # on its roll
        "running": pl.Int64(),  # of these, thought to run
        "seen_within_year": pl.Float64(),  # share of the running
        "failures": pl.Int64(),  # that it told of
        "with_cause": pl.Float64(),  # shares of the failures
        "with_day": pl.Float64(),
        "with_position": pl.Float64(),
        "entered_dated": pl.Float64(),  # share of all its reports that say when they were entered
        "collecting_since": pl.String(),
        "survivors_reported": pl.Boolean(),  # it tells of machines that work, not only of failures
    }
)
_SHARES = (
    ("seen_within_year", "of its running machines were seen working within a year"),
    ("with_cause", "of its failures have a cause"),
    ("with_day", "are dated to the day"),
    ("with_position", "name the position"),
    ("entered_dated", "of its reports say when they were entered"),
)
Row = Mapping[str, Any]


def completeness(table: Table, store: Path, *, as_of: date) -> Answer:
    """COMPLETENESS, one row a contributor, the largest first, and a sentence for each.

    A report belongs to the source it names, else to its unit's. A failure that two people of one
    source told counts once.
    """
    from fleet.flow.known import known_records

    records = known_records(store, ("sources", "units", "reports"), as_of=as_of)
    units = records["units"].unique("unit", keep="first", maintain_order=True)
    return completeness_of(
        units,
        records["reports"],
        records["sources"],
        table.working,
        as_of,
        pairs=table.twice_told,
    )


def completeness_of(
    units: pl.DataFrame,
    reports: pl.DataFrame,
    sources: pl.DataFrame,
    working: pl.DataFrame,
    as_of: date,
    *,
    pairs: pl.DataFrame | None = None,
) -> Answer:
    """The same from frames (known_schema of their kinds, frames.WORKING; pairs: TWICE_TOLD)."""
    whose = units.select("unit", own="source")
    told = reports.join(whose, on="unit", how="left", maintain_order="left").with_columns(
        source=pl.coalesce("source", "own")
    )
    failed = (
        failures_once(told, pl.DataFrame() if pairs is None else pairs, within=("source",))
        .group_by("source")
        .agg(
            pl.len().cast(pl.Int64).alias("failures"),
            with_cause=pl.col("cause").is_not_null().mean(),
            with_day=pl.col("day_known").mean(),
            with_position=pl.col("position_named").mean(),
        )
    )
    entered = told.group_by("source").agg(
        entered_dated=(~pl.col("reconstructed").fill_null(value=True)).mean(),
    )
    seen_once = told.filter(pl.col("kind") == "working").select("unit").unique()
    # a machine that came because it failed, and was put right, is no survivor
    survives = (pl.col("enrolled_because") == "working") | (
        pl.col("enrolled_because").is_null() & pl.col("unit").is_in(seen_once["unit"].implode())
    )
    year_ago = (pl.lit(as_of) - pl.col("last_known_working")).dt.total_days() <= DAYS_PER_YEAR
    seen = working.group_by("source").agg(
        pl.len().cast(pl.Int64).alias("running"),
        seen_within_year=year_ago.fill_null(value=False).mean(),
    )
    roll = units.group_by("source").agg(
        pl.len().cast(pl.Int64).alias("units"),
        survivors_reported=survives.fill_null(value=False).any(),
    )
    every = pl.concat(
        [frame.select("source") for frame in (sources, roll, failed, entered, seen)]
    ).unique()
    frame = every
    for more in (roll, seen, failed, entered, sources.select("source", "collecting_since")):
        frame = frame.join(more, on="source", how="left", nulls_equal=True)
    frame = (
        frame.with_columns(
            pl.col("units", "running", "failures").fill_null(0),
            pl.col("survivors_reported").fill_null(value=False),
        )
        .sort(["units", "failures", "source"], descending=[True, True, False])
        .select(list(COMPLETENESS))
        .cast(COMPLETENESS)
    )
    return Answer(frame=frame, notes=tuple(_words(row) for row in frame.to_dicts()))


def _words(row: Row) -> str:
    name = row["source"] or "Records that name no source"
    machines = "1 machine" if row["units"] == 1 else f"{row['units']:,} machines"
    shares = [
        f"{number(round(100 * row[column]))} % {text}"
        for column, text in _SHARES
        if row[column] is not None
    ]
    since = (
        f"failures collected since {row['collecting_since']}"
        if row["collecting_since"]
        else "not known since when failures are collected"
    )
    only = (
        "" if row["survivors_reported"] else "; it tells of failures only, not of what still works"
    )
    return f"{name}: {machines}; {'; '.join([*shares, since])}{only}"
