"""How each set ended, as rows of the life table: failures, and what was not seen to fail."""

from dataclasses import dataclass

import polars as pl

from fleet.ages import days_expr

NEVER_WORKED = "it did not work when these parts were fitted, nor has it been seen working since"
NO_FAILURE_TOLD = "it was enrolled because it failed, but no report tells of the failure"


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Ends:
    """Rows on their way into the life table, and those that are left out with their `reason`."""

    rows: pl.DataFrame
    left_out: pl.DataFrame


def time_failures(failures: pl.DataFrame, shares: pl.DataFrame) -> pl.DataFrame:
    """When each failure happened and how much of the set's life it ends.

    Needs `model`. Adds low_day (the machine worked then, or the first day of the failure's date;
    null: nothing known), in_use (dated in use), p (chance that it was the capacitors'), weight
    (share of the life that ends here) and left (share that lives on).

    A failure after one of unknown cause ends only the share that lived on through that one.
    """
    dated = (
        ~pl.col("dead")
        & pl.col("lkw").is_null()
        & (pl.col("implied").is_null() | (pl.col("implied") != "recap"))
    )
    seen = pl.min_horizontal("seen_before", "l")
    seen = pl.when(pl.col("seen_before").is_not_null()).then(seen)
    chance = {"capacitor": 1.0, "masked": 1.0, "other": 0.0}
    return (
        failures.join(
            shares.select("model", "share"), on="model", how="left", maintain_order="left"
        )
        .with_columns(
            low_day=pl.when(dated).then(pl.max_horizontal("e", seen)).otherwise(seen),
            p=pl.coalesce(
                pl.col("cause").replace_strict(chance, default=None, return_dtype=pl.Float64),
                "share",
            ),
        )
        .with_columns(
            in_use=dated | (pl.col("low_day") >= pl.col("l")).fill_null(False),
            left=(1 - pl.col("p")).cum_prod().over("gid"),
        )
        .with_columns(weight=pl.col("p") * pl.col("left").shift(1).over("gid").fill_null(1.0))
    )


def failed_rows(failures: pl.DataFrame) -> Ends:
    """Lives that ended by a failure, from failures joined with their sets and units.

    Rules 2, 3 and 7. Failure days low_day to l and start days s0 to s1 give the interval
    low_day - s1 to l - s0; entry is reckoned from the middle of the start, so low is never
    below it.
    """
    at_known = pl.col("in_known") & (pl.col("ep") == pl.col("known_ep"))
    cs = pl.col("collecting_since")
    unsure = ~pl.col("in_use") & (pl.col("dead") | (pl.col("low_day") < cs).fill_null(True))
    observed = pl.when(at_known).then(pl.when(~unsure).then(cs)).otherwise("entry_day")
    zero = pl.lit(0.0)
    timed = (
        failures.filter(pl.col("weight") > 0)
        .with_columns(truncated=at_known, from_day=observed)
        .with_columns(
            entry=pl.max_horizontal(zero, days_expr(pl.col("sm"), pl.col("from_day"))),
            high=days_expr(pl.col("s0"), pl.col("l")),
            earliest=days_expr(pl.col("s1"), pl.col("low_day")),
        )
        .with_columns(low=pl.max_horizontal("entry", "earliest"), reason=_why_not(at_known))
    )
    # A failure on the very day it came under observation lies in the day after it.
    same = pl.col("high") == pl.col("entry")
    rows = (
        timed.filter(pl.col("reason").is_null())
        .with_columns(high=pl.when(same).then(pl.col("entry") + 1).otherwise("high"))
        .with_columns(
            # The cut-off is reckoned from the middle of the start, high from its first day: a
            # failure that is known was known by the cut-off.
            known_by=pl.when("truncated").then(
                pl.max_horizontal("high", days_expr(pl.col("sm"), pl.col("cutoff")))
            ),
            count=pl.col("weight"),
            end=pl.lit("failed"),
            noticed=pl.when(
                (pl.col("enrolled_because") == "working")
                & (pl.col("implied") != "reading").fill_null(True)
            ).then(pl.when("in_use").then(pl.lit("in_use")).otherwise(pl.lit("at_check"))),
        )
    )
    return Ends(rows=rows, left_out=timed.filter(pl.col("reason").is_not_null()))


def _why_not(at_known: pl.Expr) -> pl.Expr:
    """Reason to leave out a failure, null if none."""
    cs = pl.col("collecting_since")
    return (
        pl.when(pl.col("cause") == "masked")
        .then(pl.lit("it failed at a position that was not told"))
        .when("unexplained")
        .then(pl.lit(NO_FAILURE_TOLD))
        .when(at_known & (pl.col("l") < cs))
        .then(
            pl.format(
                "it failed before {}, when {} began to collect failures",
                cs.dt.to_string("%Y-%m-%d"),
                pl.col("source").fill_null("its source"),
            )
        )
        .when(pl.col("in_known") & (pl.col("ep") < pl.col("known_ep")))
        .then(pl.lit("it had failed once already before the failure that made it known"))
        .when(pl.col("high") < pl.col("entry"))
        .then(pl.lit("it had failed before it came under observation, and runs on"))
    )


def last_day_good() -> pl.Expr:
    """The last day on which a set that no failure by its capacitors ended is known to be good.

    Reads last_low_day (of the last failure), open, down, how, ended and seen.
    """
    stands = pl.col("how").is_not_null() & ~pl.col("down")
    ended = pl.when(stands).then("ended").otherwise("seen")
    return pl.when("open").then("last_low_day").otherwise(ended)


def unfailed_rows(sets: pl.DataFrame) -> Ends:
    """Lives not seen to end by the capacitors (rules 4, 5, 6): high and known_by are null.

    `sets` has, of the last failure, last_low_day; `left`, the share of the life that no failure
    ended; `worked_again`, when a unit enrolled failed was first seen working after that failure.
    """
    how = pl.col("how")
    end = (
        pl.when(pl.col("open") | pl.col("down"))
        .then(pl.lit("other_cause"))
        .when(how == "board_swapped")
        .then(pl.lit("swapped"))
        .when((how == "recapped") & (pl.col("because") == "reading").fill_null(False))
        .then(pl.lit("reading"))
        .when(how == "recapped")
        .then(pl.lit("planned"))
        .when("retired")
        .then(pl.lit("retired"))
    )
    zero = pl.lit(0.0)
    timed = (
        sets.filter(pl.col("left") > 0)
        .with_columns(low_day=last_day_good(), end=end, no_life=_no_life())
        .with_columns(entry=pl.max_horizontal(zero, days_expr(pl.col("sm"), pl.col("entry_day"))))
        .with_columns(
            low=pl.max_horizontal("entry", days_expr(pl.col("sm"), pl.col("low_day"))),
            count=pl.col("left"),
        )
    )
    unseen = pl.col("end").is_null() & (pl.col("low") <= pl.col("entry"))
    rows = timed.filter(pl.col("no_life").is_null()).with_columns(
        high=pl.lit(None, pl.Float64),
        known_by=pl.lit(None, pl.Float64),
        noticed=pl.lit(None, pl.String),
        end=pl.when(unseen)
        .then(pl.lit("lost_sight"))
        .otherwise(pl.col("end").fill_null("working")),
    )
    lost = timed.filter(pl.col("no_life").is_not_null() & (pl.col("left") == 1))
    return Ends(rows=rows, left_out=lost.with_columns(reason="no_life"))


def _no_life() -> pl.Expr:
    """Why a set that never worked, or of a unit enrolled failed, is no life; null if it is one."""
    return (
        pl.when("never")
        .then(pl.lit(NEVER_WORKED))
        .when(pl.col("unexplained"))
        .then(pl.lit(NO_FAILURE_TOLD))
        .when(pl.col("in_known") & pl.col("entry_day").is_null())
        .then(
            pl.lit(
                "it was enrolled because it failed, not by its capacitors, and has not been seen "
                "working since"
            )
        )
    )
