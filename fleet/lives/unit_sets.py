"""The sets of capacitors of single units by the calendar, to be drawn and told.

METHODS: lives
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from fleet.lives.build import follow_units, settle_units
from fleet.lives.enrolment import find_observed
from fleet.lives.inputs import OPEN, know
from fleet.lives.observed import first_watched
from fleet.lives.working import running_units

UNIT_SETS = pl.Schema(
    {
        "unit": pl.String(),
        "set_no": pl.Int64(),  # 1: the factory set
        "parts": pl.String(),  # original, replaced_known, replaced_unknown, partial
        "batch": pl.String(),
        "started_earliest": pl.Date(),  # days on which it can have begun; null: nothing tells
        "started_latest": pl.Date(),
        "watched_from": pl.Date(),  # null: it ended before anybody kept a record of it
        "last_working": pl.Date(),  # null: never seen working
        "ended_on": pl.Date(),  # replaced or retired; null: it is in the machine still
        "ended_by": pl.String(),  # recapped, board_swapped, retired; null
        "failed": pl.Boolean(),  # failed and not seen working since
        "in_vain": pl.Boolean(),  # the machine did not work with it when it was fitted
        "reports": pl.String(),  # ids of the reports about it, joined by ;
    }
)
UNIT_FAILURES = pl.Schema(
    {
        "unit": pl.String(),
        "set_no": pl.Int64(),
        "earliest": pl.Date(),  # it failed on or after this day; null: nothing tells
        "latest": pl.Date(),
        "cause": pl.String(),  # capacitor, other, unknown, masked
        "record": pl.String(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class UnitSets:
    """`sets` (UNIT_SETS) and `failures` (UNIT_FAILURES) of units whose records agree; `disagree`
    (unit, reason, reports: ids joined by ;) of the others, which have none; `running`: names of
    units thought to be working.
    """

    sets: pl.DataFrame
    failures: pl.DataFrame
    disagree: pl.DataFrame
    running: frozenset[str]


def build_unit_sets(records: Mapping[str, pl.DataFrame], *, as_of: date) -> UnitSets:
    """Sets and failures as known on a date; the arguments are those of `build_lives`."""
    known = know(records, as_of)
    settled = settle_units(known, as_of)
    story = follow_units(settled.units, settled.placed, known.batches, degraded=False)
    observed = find_observed(settled.units, story.failures)
    watched = first_watched(settled.units, story.sets, story.enrolled, observed)
    running = running_units(settled.units, story.sets, story.failures)
    retired = (
        settled.placed.filter(pl.col("kind") == "retired")
        .group_by("idx")
        .agg(retired_on=pl.col("l").max())
    )
    sets = (
        story.sets.join(
            watched.select("idx", "unit", "enrolled", "first_set", enrolled_because="because"),
            on="idx", how="left", maintain_order="left",
        )
        .join(retired, on="idx", how="left", maintain_order="left")
        .with_columns(gone=pl.col("retired") & pl.col("ended").is_null())
        .select(
            "unit", "set_no", "parts", "batch",
            started_earliest="s0",
            started_latest="s1",
            watched_from=_watched_from(),
            last_working="seen",
            ended_on=pl.when("gone").then("retired_on").otherwise("ended"),
            ended_by=pl.when("gone").then(pl.lit("retired")).otherwise("how"),
            failed="open",
            in_vain="in_vain",
            reports="reports",
        )
    )  # fmt: skip
    return UnitSets(
        sets=_kept(sets, UNIT_SETS).sort("unit", "set_no"),
        failures=_failures(story.failures, settled.units),
        disagree=settled.disagree.select("unit", "reason", "reports"),
        running=frozenset(running["unit"].to_list()),
    )


def _watched_from() -> pl.Expr:
    """From when a set was watched: the day its unit came to be known, or the day it was fitted
    where that is later; null for sets before, and for one known only because it failed.
    """
    by_failing = (pl.col("enrolled_because") == "failed") & (
        pl.col("set_no") == pl.col("first_set")
    )
    since = pl.max_horizontal("enrolled", "s1")
    return pl.when((pl.col("set_no") >= pl.col("first_set")) & ~by_failing).then(since)


def _failures(failures: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """Failures with the days within which they fell: dated in use, within their own date; found
    dead or inferred from a repair, since the machine was last seen working.
    """
    inferred = pl.col("dead") | pl.col("lkw").is_not_null() | (pl.col("implied") == "recap")
    since = pl.max_horizontal("seen_before", "lkw")
    told = failures.join(units.select("idx", "unit"), on="idx", maintain_order="left")
    return _kept(
        told.select(
            "unit",
            "set_no",
            pl.when(inferred.fill_null(value=False))
            .then(since)
            .otherwise(pl.when(pl.col("e") > OPEN).then("e"))
            .alias("earliest"),
            pl.col("l").alias("latest"),
            "cause",
            "record",
        ).sort("unit", "set_no", "latest"),
        UNIT_FAILURES,
    )


def _kept(frame: pl.DataFrame, schema: pl.Schema) -> pl.DataFrame:
    return frame.select(list(schema)).cast(schema)
