"""One failure told by two people on slightly different days. METHODS: twice-told."""

import polars as pl

from fleet.lives.contradictions import REPLACING

# Days apart, at their nearest, within which two people may mean one failure. Our choice.
WINDOW_DAYS = 30

# Pairs of reports that two people made of what may be one failure, or one recap.
TWICE_TOLD = pl.Schema(
    {
        "unit": pl.String(),
        "what": pl.String(),  # failure or recap
        "first": pl.String(),  # record ids
        "second": pl.String(),
        "days_apart": pl.Int64(),  # at their nearest
        "counted_once": pl.Boolean(),
        "why": pl.String(),
    }
)
_FIXES = ("repaired", *REPLACING)
_SIDE = ["idx", "record", "kind", "e", "l", "lkw", "cause", "because", "batch", "positions",
         "whole", "cured", "said_by", "said_in"]  # fmt: skip
_NOT_BETWEEN = "nobody saw it working between them"
_AFTER_REPAIR = "the second came after the repair that answered the first, and needed none itself"


def settle_twice_told(
    reports: pl.DataFrame, units: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Reports with surely repeated ones put on the day of the first, and the pairs found.

    Two failures of a unit count as one where different people (`said_by`) or sources (`said_in`)
    told them, no more than 30 days apart, nobody saw the machine working between them, and their
    causes do not differ. Where the repair that answered the first lies between them, the second
    must not have been followed by a repair or retirement of its own. Two recaps count as one where
    different people told them within those days and nothing happened between them, if they fit
    the same parts for the same reason. All else that is as near is a pair not `counted_once`.

    Reports gain `again` (put on the day of another). The pairs keep TWICE_TOLD but for `unit`,
    which is `idx`.
    """
    told = reports.with_columns(again=pl.lit(False))
    recaps = _judge_recaps(_pairs(told, list(REPLACING)), told, units)
    told = _move(told, recaps.filter("counted_once"))
    failures = _judge_failures(_pairs(told, ["failed"]), told, units)
    told = _move(told, failures.filter(pl.col("counted_once") & (pl.col("fixes") > 0)))
    columns = ["idx", *list(TWICE_TOLD)[1:]]
    found = pl.concat([frame.select(columns) for frame in (failures, recaps)])
    return told, found.sort("idx", "first", "second")


def _pairs(reports: pl.DataFrame, kinds: list[str]) -> pl.DataFrame:
    """Pairs of reports of these kinds by different tellers within the window, the earlier first."""
    some = reports.filter(pl.col("kind").is_in(kinds)).select(_SIDE)
    several = some.filter(pl.len().over("idx") > 1)
    both = several.join(several, on="idx", suffix="_2").filter(
        (pl.col("l") < pl.col("l_2"))
        | ((pl.col("l") == pl.col("l_2")) & (pl.col("record") < pl.col("record_2")))
    )
    others = (pl.col("said_by") != pl.col("said_by_2")).fill_null(value=False) | (
        pl.col("said_in") != pl.col("said_in_2")
    ).fill_null(value=False)
    gap = (pl.col("e_2") - pl.col("l")).dt.total_days().clip(lower_bound=0)
    # A day both give alike is one report of it in any case.
    alike = (pl.col("e") == pl.col("e_2")) & (pl.col("l") == pl.col("l_2"))
    return (
        both.filter(others & ~alike)
        .with_columns(days_apart=gap.cast(pl.Int64))
        .filter(pl.col("days_apart") <= WINDOW_DAYS)
    )


def _judge_failures(
    pairs: pl.DataFrame, reports: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    sights, fixes = _sights(reports, units), _days(reports, list(_FIXES))
    found = _between(_between(pairs, sights, "seen"), fixes, "fixes")
    # a planned recap, or one because of a reading, answers no failure
    because = pl.col("because").fill_null("")
    answers = reports.filter(~because.is_in(["planned", "reading"]))
    found = _next_is_an_end(found, sights, _days(answers, [*_FIXES, "retired"]))
    known = (pl.col("cause") != "unknown") & (pl.col("cause_2") != "unknown")
    return _verdict(
        found,
        "failure",
        (
            (pl.col("seen") > 0, "it was seen working between them"),
            (known & (pl.col("cause") != pl.col("cause_2")), "they give different causes"),
            (pl.col("fixes") > 1, "it was repaired more than once between them"),
            ((pl.col("fixes") == 1) & pl.col("ended"), "each was followed by a repair of its own"),
        ),
        pl.when(pl.col("fixes") > 0).then(pl.lit(_AFTER_REPAIR)).otherwise(pl.lit(_NOT_BETWEEN)),
    )


def _judge_recaps(pairs: pl.DataFrame, reports: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    sights = _sights(reports, units)
    happened = _days(reports, ["failed", "repaired", "retired"])
    found = _between(_between(pairs, sights, "seen"), happened, "more")
    differ = (
        (pl.col("because") != pl.col("because_2")).fill_null(value=False)
        | (pl.col("batch") != pl.col("batch_2")).fill_null(value=False)
        | (pl.col("whole") != pl.col("whole_2"))
        | (pl.col("cured") != pl.col("cured_2")).fill_null(value=False)
        | (~pl.col("whole") & pl.col("positions").ne_missing(pl.col("positions_2")))
    )
    return _verdict(
        found,
        "recap",
        (
            (pl.col("seen") > 0, "it was seen working between them"),
            (pl.col("more") > 0, "something else happened between them"),
            (differ, "they fit different parts, or for another reason, or with another outcome"),
        ),
        pl.lit("nothing happened between them, and they say the same"),
    )


def _verdict(
    pairs: pl.DataFrame, what: str, doubts: tuple[tuple[pl.Expr, str], ...], sure: pl.Expr
) -> pl.DataFrame:
    why = pl.coalesce(*(pl.when(doubt).then(pl.lit(text)) for doubt, text in doubts))
    return pairs.with_columns(doubt=why).with_columns(
        what=pl.lit(what),
        first="record",
        second="record_2",
        counted_once=pl.col("doubt").is_null(),
        why=pl.coalesce("doubt", sure),
    )


def _days(reports: pl.DataFrame, kinds: list[str]) -> pl.DataFrame:
    return reports.filter(pl.col("kind").is_in(kinds)).select("idx", day="l")


def _sights(reports: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """Days on which each unit was seen working: idx, day."""
    return pl.concat(
        [
            reports.filter(pl.col("kind") == "working").select("idx", day="e"),
            reports.select("idx", day="lkw"),
            units.filter(pl.col("enrolled_because") == "working").select("idx", day="enr_e"),
        ]
    ).drop_nulls()


def _between(pairs: pl.DataFrame, days: pl.DataFrame, name: str) -> pl.DataFrame:
    """Pairs with how many of `days` lie between the two: after the first, not after the second.

    A repair on the very day of the first failure answers it.
    """
    after = pl.col("day") >= pl.col("l") if name == "fixes" else pl.col("day") > pl.col("l")
    counted = (
        pairs.select("idx", "record", "record_2", "l", "l_2")
        .join(days, on="idx")
        .filter(after & (pl.col("day") <= pl.col("l_2")))
        # on the second's own day it was put right after it had failed
        .filter(pl.col("day") < pl.col("l_2") if name == "fixes" else pl.lit(value=True))
        .group_by("record", "record_2")
        .agg(pl.len().cast(pl.Int64).alias(name))
    )
    return pairs.join(
        counted, on=["record", "record_2"], how="left", maintain_order="left"
    ).with_columns(pl.col(name).fill_null(0))


def _next_is_an_end(pairs: pl.DataFrame, sights: pl.DataFrame, ends: pl.DataFrame) -> pl.DataFrame:
    """Pairs with `ended`: what followed the second was a repair or retirement, not a sight."""
    out = pairs
    for name, days in (("next_seen", sights), ("next_end", ends)):
        later = (
            pl.col("day") >= pl.col("l_2") if name == "next_end" else pl.col("day") > pl.col("l_2")
        )
        first = (
            pairs.select("idx", "record", "record_2", "l_2")
            .join(days, on="idx")
            .filter(later)
            .group_by("record", "record_2")
            .agg(pl.col("day").min().alias(name))
        )
        out = out.join(first, on=["record", "record_2"], how="left", maintain_order="left")
    ended = pl.col("next_end").is_not_null() & (
        pl.col("next_seen").is_null() | (pl.col("next_end") <= pl.col("next_seen"))
    )
    return out.with_columns(ended=ended)


def _move(reports: pl.DataFrame, pairs: pl.DataFrame) -> pl.DataFrame:
    """Put the second report of each pair on the days of the earliest first one."""
    if pairs.is_empty():
        return reports
    to = (
        pairs.sort("l", "first")
        .unique("second", keep="first", maintain_order=True)
        .select(record="second", to_e="e", to_l="l")
    )
    moved = reports.join(to, on="record", how="left", maintain_order="left")
    return moved.with_columns(
        again=pl.col("again") | pl.col("to_l").is_not_null(),
        e=pl.coalesce("to_e", "e"),
        l=pl.coalesce("to_l", "l"),
    ).drop("to_e", "to_l")
