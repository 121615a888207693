"""How well readings told machines that failed soon after from those that did not.

Bad readings lead to recaps, after which nobody sees what the old parts would have done. So what
followed is counted among bad and among good readings apart, and joined by how often readings are
bad (Begg and Greenes 1983, Biometrics 39:207-215). METHODS: tested-readings
"""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from fleet.ages import days
from fleet.flow.position_readings import judged_machines

__all__ = ["SENSITIVITY", "SPECIFICITY", "Tested", "tested_readings"]

# Our guess, no source; said wherever it is used.
SENSITIVITY, SPECIFICITY = 0.7, 0.9
_PRIOR_FAILS = 0.2  # share of machines measured that fail within the span, before any is followed
_PRIOR_WEIGHT = 20.0  # readings that the guess is worth


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """The two shares, and how many machines were measured and followed."""

    sensitivity: float
    specificity: float
    measured: int
    followed: int
    failed: int


def tested_readings(records: Mapping[str, pl.DataFrame], *, within_years: float) -> Tested:
    """Shares learned from machines measured, each beside what it did within the span.

    A machine measured on a day reads bad if any of its parts does, good if one is good and none
    bad. It fails if its capacitors are reported failed within the span, lasts if it is seen working
    at the end of the span or later with the same parts; else nobody knows what followed.
    """
    measured = judged_machines(records["readings"], records["positions"], records["units"])
    cells = _followed(measured, records["reports"], span=days(within_years))
    count = {
        (bad, end): float(cells.filter((pl.col("bad") == bad) & (pl.col("end") == end)).height)
        for bad in (True, False)
        for end in ("failed", "lasts")
    }
    guess = {
        (True, "failed"): _PRIOR_FAILS * SENSITIVITY,
        (False, "failed"): _PRIOR_FAILS * (1.0 - SENSITIVITY),
        (True, "lasts"): (1.0 - _PRIOR_FAILS) * (1.0 - SPECIFICITY),
        (False, "lasts"): (1.0 - _PRIOR_FAILS) * SPECIFICITY,
    }
    held = {key: value + _PRIOR_WEIGHT * guess[key] for key, value in count.items()}
    share = {}
    for bad in (True, False):
        every = float(measured.filter(pl.col("bad") == bad).height)
        every += _PRIOR_WEIGHT * (guess[bad, "failed"] + guess[bad, "lasts"])
        seen = held[bad, "failed"] + held[bad, "lasts"]
        for end in ("failed", "lasts"):
            share[bad, end] = every * held[bad, end] / seen
    fails = share[True, "failed"] + share[False, "failed"]
    lasts = share[True, "lasts"] + share[False, "lasts"]
    return Tested(
        sensitivity=share[True, "failed"] / fails,
        specificity=share[False, "lasts"] / lasts,
        measured=measured.height,
        followed=int(sum(count.values())),
        failed=int(count[True, "failed"] + count[False, "failed"]),
    )


def _followed(measured: pl.DataFrame, reports: pl.DataFrame, *, span: float) -> pl.DataFrame:
    """Machines measured with `end`: failed, lasts, or null where nobody knows."""
    days_ = pl.duration(days=round(span))
    day = pl.coalesce("date_latest", "date_earliest")
    renewed = pl.col("kind").is_in(["recapped", "board_swapped", "retired"])
    failed = (pl.col("kind") == "failed") & (pl.col("cause").fill_null("unknown") != "other")
    after = (
        measured.join(reports.select("unit", "kind", "cause", when=day), on="unit")
        .filter(pl.col("when") > pl.col("day"))
        .with_columns(stops=renewed | failed)
        .with_columns(
            first=pl.when("stops").then("when").min().over("unit", "day"),
        )
        .group_by("unit", "day", maintain_order=True)
        .agg(
            failed=(failed & (pl.col("when") <= pl.col("day") + days_)
                    & (pl.col("when") == pl.col("first"))).any(),
            lasts=((pl.col("kind") == "working") & (pl.col("when") >= pl.col("day") + days_)
                   & (pl.col("first").is_null() | (pl.col("when") <= pl.col("first")))).any(),
            late=((pl.col("first") > pl.col("day") + days_).any()
                  & (failed & (pl.col("when") == pl.col("first"))).any()),
        )
    )  # fmt: skip
    end = (
        pl.when("failed")
        .then(pl.lit("failed"))
        .when(pl.col("lasts") | pl.col("late"))
        .then(pl.lit("lasts"))
    )
    return measured.join(after, on=["unit", "day"], how="left").with_columns(end=end)
