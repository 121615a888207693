"""Which sets are lives, and from when each was watched."""

from datetime import date

import polars as pl

from fleet.lives.runs import last_rows


def add_sources(units: pl.DataFrame, sources: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Units with collecting_since (null: unknown) and cutoff (the earlier of the source's and
    `as_of`).
    """
    told = sources.select(
        "source",
        collecting_since=pl.coalesce("collecting_since_earliest", "collecting_since_latest"),
        cutoff=pl.coalesce("data_cutoff_latest", "data_cutoff_earliest"),
    )
    return units.join(told, on="source", how="left", maintain_order="left").with_columns(
        cutoff=pl.min_horizontal("cutoff", pl.lit(as_of))
    )


def first_watched(
    units: pl.DataFrame, sets: pl.DataFrame, working: pl.DataFrame, observed: pl.DataFrame
) -> pl.DataFrame:
    """Units with `first_set`, the set that was fitted when the unit came to be known (rule 2).

    `working` (idx, working_set) tells it of units enrolled working, `observed` (idx, known_set,
    known_ep) of the failure that made the others known; `unexplained_set` is that of units
    enrolled failed of whose failure nothing tells.
    """
    unexplained = (
        units.filter(pl.col("because") == "failed")
        .join(observed, on="idx", how="anti")
        .select("idx", "enrolled")
    )
    by_then = (
        sets.join(unexplained, on="idx")
        .filter((pl.col("set_no") == 1) | (pl.col("s1") < pl.col("enrolled")).fill_null(False))
        .group_by("idx")
        .agg(unexplained_set=pl.col("set_no").max())
    )
    joined = units
    for more in (working, observed, by_then):
        joined = joined.join(more, on="idx", how="left", maintain_order="left")
    return joined.with_columns(
        first_set=pl.coalesce("working_set", "known_set", "unexplained_set"),
    )


def watched_sets(units: pl.DataFrame, sets: pl.DataFrame, failures: pl.DataFrame) -> pl.DataFrame:
    """Sets that may be lives, with what the rows need of their unit and of their failures.

    `in_known`: this is the set whose failure made the unit known. `entry_day`: the day from which
    it was watched (rule 2; for a set that made its unit known by failing, the day it was first
    seen working afterwards, rule 5; for a set fitted in vain the day it was first seen working).
    `never`: fitted in vain and never seen working.
    """
    facts = units.select(
        "idx", "unit", "model", "source", "enrolled", "because", "first_set", "known_set",
        "known_ep", "unexplained_set", "collecting_since", "cutoff", "position",
    ).rename({"because": "enrolled_because"})  # fmt: skip
    last = last_rows(failures, "gid").select("gid", "left", last_low_day="low_day")
    again = failures.select("gid", "worked_again", known_ep="ep")
    return (
        sets.join(facts, on="idx", how="inner", maintain_order="left")
        .filter(pl.col("set_no") >= pl.col("first_set"))
        .join(last, on="gid", how="left", maintain_order="left")
        .join(again, on=["gid", "known_ep"], how="left", maintain_order="left")
        .with_columns(
            in_known=(pl.col("set_no") == pl.col("known_set")).fill_null(False),
            watched_from=pl.when("in_vain")
            .then(pl.max_horizontal("proved", "enrolled"))
            .otherwise("enrolled"),
            unexplained=(pl.col("set_no") == pl.col("unexplained_set")).fill_null(False),
            left=pl.col("left").fill_null(1.0),
        )
        .with_columns(
            entry_day=pl.when("in_known").then("worked_again").otherwise("watched_from"),
            never=pl.col("in_vain") & pl.col("proved").is_null(),
        )
    )
