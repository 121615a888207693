"""Which jobs would begin before the parts bought for them are there.

METHODS: now-or-later
"""

from datetime import date

import polars as pl

from fleet.frames.tables import D, S

# A job and one part bought for it; what lies on the shelf is waited for by nobody.
WAITS = pl.Schema({"unit": S, "model": S, "on": D, "part": S})
LATE = pl.Schema({"unit": S, "model": S, "on": D, "there": D})


def lead_days(lines: pl.DataFrame, offers: pl.DataFrame) -> pl.DataFrame:
    """part, lead: days that each part of a purchase's `lines` takes, at most; null: nobody said."""
    return (
        offers.join(lines, on=["part", "supplier"], how="semi", nulls_equal=True)
        .group_by("part")
        .agg(pl.col("lead_days").max().ceil().cast(pl.Int64).alias("lead"))
    )


def late_jobs(waits: pl.DataFrame, leads: pl.DataFrame, ordered_on: date) -> pl.DataFrame:
    """LATE: jobs of WAITS that begin before the slowest part of their own is there, by day."""
    there = pl.lit(ordered_on) + pl.duration(days=pl.col("lead").max())
    return (
        waits.join(leads, on="part")
        .group_by("unit", "model", "on", maintain_order=True)
        .agg(there.alias("there"))
        .filter(pl.col("on") < pl.col("there"))
        .sort("on", "unit")
        .select(pl.col(name).cast(dtype) for name, dtype in LATE.items())
    )


def days_allowed(waits: pl.DataFrame, offers: pl.DataFrame, ordered_on: date) -> pl.DataFrame:
    """part, days: how long each part may take so that no job begins later than it must.

    A model's first job sets its limit, or the slowest of its parts, each from its fastest
    supplier, where that comes later: nothing needs to be there sooner than that.
    """
    fastest = offers.group_by("part").agg(pl.col("lead_days").min().ceil().alias("fastest"))
    return (
        waits.drop_nulls("on")
        .join(fastest.drop_nulls(), on="part")
        .with_columns(days=(pl.col("on") - pl.lit(ordered_on)).dt.total_days())
        .with_columns(
            days=pl.max_horizontal(
                pl.col("days").min().over("model"), pl.col("fastest").max().over("model")
            )
        )
        .group_by("part")
        .agg(pl.col("days").min().cast(pl.Int64))
    )


def in_time(offers: pl.DataFrame, allowed: pl.DataFrame) -> pl.DataFrame:
    """The offers that come within the days `allowed`, and those of parts that may take any time."""
    days = offers.select("part").join(allowed, on="part", how="left", maintain_order="left")["days"]
    soon = (offers["lead_days"].ceil() <= days).fill_null(value=False)
    return offers.filter(soon | days.is_null())
