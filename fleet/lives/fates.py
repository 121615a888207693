"""What became of every set of capacitors, in days of the calendar instead of ages.

The life table knows ages, and an uncertain build date widens them; whether a machine failed within
two years of a day is a matter of the calendar alone. METHODS: lives, backtest
"""

from collections.abc import Mapping
from datetime import date
from typing import Literal

import polars as pl

from fleet.lives.build import follow_units, settle_units
from fleet.lives.causes import UnknownCause, share_causes
from fleet.lives.ends import last_day_good, time_failures
from fleet.lives.inputs import know
from fleet.lives.runs import last_rows

FATES = pl.Schema(
    {
        "unit": pl.String(),
        "set_no": pl.Int64(),
        "started_latest": pl.Date(),  # latest day on which the set can have been fitted
        "failed": pl.Boolean(),  # by its capacitors
        "share": pl.Float64(),  # of the set; below 1 after a failure of unknown cause
        "after": pl.Date(),  # it still worked on this day; null: nothing known
        "by": pl.Date(),  # it had failed by this day; null for what did not fail
    }
)


def build_fates(
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    unknown_cause: UnknownCause = "share",
    degraded_as: Literal["censored", "failed"] = "censored",
) -> pl.DataFrame:
    """FATES as known on a date: for each set its failures, each with the share of it that ended
    there, and what is left of it, good on the day `after` and not known further.

    The arguments are those of `build_lives`; units whose records disagree are missing. A set that
    ended by a planned recap, a swap or a failure of another cause was good until then. The shares
    of a set add up to 1. Raises BadFrame for a frame that is not as `known_schema` says.
    """
    known = know(records, as_of)
    settled = settle_units(known, as_of)
    story = follow_units(
        settled.units, settled.placed, known.batches, degraded=degraded_as == "failed"
    )
    shares = share_causes(story.failures, settled.units, unknown_cause)
    failures = time_failures(
        story.failures.join(settled.units.select("idx", "model"), on="idx", maintain_order="left"),
        shares,
    )
    sets = story.sets.join(settled.units.select("idx", "unit"), on="idx", maintain_order="left")
    sets = sets.with_columns(started_latest="s1")
    failed = (
        failures.filter(pl.col("weight") > 0)
        .join(sets.select("gid", "unit", "started_latest", "s0"), on="gid", maintain_order="left")
        .select(
            "unit", "set_no", "started_latest", failed=pl.lit(True), share="weight",
            after=pl.max_horizontal("low_day", "s0"), by=pl.max_horizontal("l", "low_day"),
        )
    )  # fmt: skip
    last = last_rows(failures, "gid").select("gid", "left", last_low_day="low_day")
    rest = (
        sets.join(last, on="gid", how="left", maintain_order="left")
        .with_columns(pl.col("left").fill_null(1.0))
        .filter(pl.col("left") > 0)
        .select(
            "unit", "set_no", "started_latest", failed=pl.lit(False), share="left",
            after=last_day_good(), by=pl.lit(None, pl.Date),
        )
    )  # fmt: skip
    return pl.concat([failed, rest]).select(pl.col(c).cast(t) for c, t in FATES.items()).sort(
        "unit", "set_no", "failed", "by", descending=[False, False, True, False]
    )  # fmt: skip
