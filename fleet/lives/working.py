"""The units thought to be running: what a due list starts from."""

import polars as pl

from fleet.frames import WORKING
from fleet.lives.runs import last_rows


def running_units(units: pl.DataFrame, sets: pl.DataFrame, failures: pl.DataFrame) -> pl.DataFrame:
    """WORKING: units not retired, last seen working after whatever failed and whatever was done in
    vain, with their present set.

    Units whose present set began nobody knows when are missing; they are listed as left out.
    `failed_once` speaks of failures by the capacitors only: after one of unknown cause the set
    may well be sound.
    """
    once = (
        failures.filter(pl.col("cause") == "capacitor")
        .select("gid", failed_once=pl.lit(True))
        .unique()
    )
    facts = units.select("idx", "unit", "model", "hours_per_year", "ambient_c", "source")
    return (
        last_rows(sets, "idx")
        .filter(
            ~pl.col("open") & ~pl.col("down") & ~pl.col("retired") & pl.col("seen").is_not_null()
        )
        .drop_nulls("sm")
        .join(once, on="gid", how="left", maintain_order="left")
        .join(facts, on="idx", how="inner", maintain_order="left")
        .with_columns(
            pl.col("failed_once").fill_null(False),
            started="sm",
            started_earliest="s0",
            started_latest="s1",
            oldest_started="oldest",
            last_known_working="seen",
        )
        .select(list(WORKING))
    )
