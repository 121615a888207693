"""The sets of capacitors of one machine laid along the calendar, and said in sentences."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.due_when import day_reached

# Stretches of the time of a set, in the order of a legend. A set is one row of the drawing.
BEGAN, UNWATCHED, WORKED = "may have begun", "before it was watched", "watched, working"
QUIET, DOWN = "not heard of", "failed, not running"
STRETCHES = pl.Schema(
    {
        "row": pl.String(),
        "set_no": pl.Int64(),
        "stretch": pl.String(),
        "from": pl.Date(),
        "to": pl.Date(),
    }
)
MARKS = pl.Schema(
    {
        "row": pl.String(),
        "set_no": pl.Int64(),
        "what": pl.String(),
        "on": pl.Date(),
        "low": pl.Date(),  # days within which it was; both as `on` where that is sure
        "high": pl.Date(),
    }
)
_FAILED = {
    "capacitor": "failed: a capacitor",
    "other": "failed: something else",
    "unknown": "failed: cause unknown",
    "masked": "failed: cause unknown",
}
_NO_FAILURES = pl.DataFrame(
    schema={"set_no": pl.Int64, "earliest": pl.Date, "latest": pl.Date, "cause": pl.String}
)
_ENDED = {"board_swapped": "board swapped", "retired": "retired"}
_PARTS = {
    "original": "original",
    "partial": "partly replaced",
    "replaced_known": "replaced",
    "replaced_unknown": "replaced",
}


def lay_out(
    sets: pl.DataFrame, failures: pl.DataFrame, *, as_of: date, due_on: date | None = None
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """STRETCHES and MARKS of the sets (lives.UNIT_SETS) and failures (UNIT_FAILURES) of a unit."""
    named = _bounded(sets, failures, as_of)
    ends = pl.min_horizontal("ended_latest", pl.lit(as_of))
    unseen_from = pl.max_horizontal("last_working", "watched_from", "began")
    watched = pl.col("watched_from").is_not_null()
    to_fail = pl.when("failed").then("fails_to")
    cuts: tuple[tuple[str, pl.Expr, pl.Expr, pl.Expr], ...] = (
        (BEGAN, pl.col("started_earliest"), pl.col("started_latest"), pl.lit(value=True)),
        (UNWATCHED, pl.col("began"), pl.coalesce("watched_from", to_fail, ends),
         pl.lit(value=True)),
        (WORKED, pl.col("watched_from"), pl.col("last_working"), pl.lit(value=True)),
        (QUIET, unseen_from, pl.coalesce(to_fail, ends), watched),
        (DOWN, pl.col("fails_to"), ends, pl.col("failed")),
    )  # fmt: skip
    stretches = pl.concat(
        [
            named.filter(when).select(
                "row", "set_no", pl.lit(name).alias("stretch"), start.alias("from"), to.alias("to")
            )
            for name, start, to, when in cuts
        ]
    ).filter(pl.col("from") < pl.col("to"))
    return (
        stretches.sort("set_no", "from", "to").select(list(STRETCHES)).cast(STRETCHES),
        _marks(named, failures, due_on).cast(MARKS),
    )


def with_ends(sets: pl.DataFrame) -> pl.DataFrame:
    """The sets of one unit (lives.UNIT_SETS) in their order, with the days on which each can have
    ended, ended_earliest and ended_latest: those on which the next was fitted, where they hold the
    day on which it is taken to have ended.
    """
    first, last = pl.col("started_earliest").shift(-1), pl.col("started_latest").shift(-1)
    open_day = (pl.col("ended_by") != "retired") & pl.col("ended_on").is_between(first, last)
    return sets.with_columns(
        ended_earliest=pl.when(open_day).then(first).otherwise("ended_on"),
        ended_latest=pl.when(open_day).then(last).otherwise("ended_on"),
    )


def _bounded(sets: pl.DataFrame, failures: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Sets with `row`, where they are drawn from (`began`), and the days of their last failure."""
    last = failures.group_by("set_no", maintain_order=True).agg(
        fails_from=pl.col("earliest").last(), fails_to=pl.col("latest").last()
    )
    parts = pl.col("parts").replace_strict(_PARTS, default=None, return_dtype=pl.String)
    # Where nothing tells when it began, it is drawn from the first day it is heard of.
    heard = pl.min_horizontal("watched_from", "last_working", "fails_from", "fails_to", "ended_on")
    return (
        with_ends(sets).join(last, on="set_no", how="left", maintain_order="left")
        .with_columns(
            row=pl.format("{} {}", "set_no", parts),
            began=pl.coalesce("started_latest", heard, pl.lit(as_of)),
            unknown_start=pl.col("started_latest").is_null(),
        )
    )  # fmt: skip


def _marks(named: pl.DataFrame, failures: pl.DataFrame, due_on: date | None) -> pl.DataFrame:
    rows = named.select("set_no", "row")
    failed = failures.join(rows, on="set_no", maintain_order="left").select(
        "row", "set_no",
        pl.col("cause").replace_strict(_FAILED, return_dtype=pl.String).alias("what"),
        pl.col("latest").alias("on"),
        pl.coalesce("earliest", "latest").alias("low"),
        pl.col("latest").alias("high"),
    )  # fmt: skip
    present = named.tail(1)

    def one(frame: pl.DataFrame, what: pl.Expr, on: str, low: str | None = None) -> pl.DataFrame:
        return frame.drop_nulls(on).select(
            "row", "set_no", what.alias("what"), pl.col(on).alias("on"),
            pl.col(low or on).alias("low"), pl.col(on).alias("high"),
        )  # fmt: skip

    ended = pl.col("ended_by").replace_strict(
        _ENDED, default="capacitors replaced", return_dtype=pl.String
    )
    parts = [
        one(named.filter("unknown_start"), pl.lit("start not known"), "began"),
        failed,
        one(named, ended, "ended_latest", "ended_earliest"),
        one(present, pl.lit("last known working"), "last_working"),
    ]
    if due_on is not None and present.height:
        parts.append(one(present.with_columns(due=pl.lit(due_on)), pl.lit("due"), "due"))
    return pl.concat(parts).sort("set_no", "on", "what").select(list(MARKS))


def due_mark(
    sets: pl.DataFrame, row: Mapping[str, Any], *, as_of: date, most_years: int = 15
) -> pl.DataFrame:
    """MARKS of when the present set is due: its row of the due list (frames.DUE), with the limits
    of that date, cut `most_years` after `as_of`. None where it has no date, or one beyond that.
    """
    last = as_of + timedelta(days=round(most_years * DAYS_PER_YEAR))
    on = day_reached(row)
    if on is None or on > last or sets.is_empty():
        return MARKS.to_frame()
    late = on < row["due_on"]  # its limits are not told of days gone by
    low = on if late else row["due_low"] or on
    high = on if late else min(row["due_high"] or last, last)
    named = _bounded(sets.tail(1), _NO_FAILURES, as_of).select("row", "set_no")
    return named.with_columns(
        pl.lit("due").alias("what"),
        pl.lit(on).alias("on"),
        pl.lit(min(low, on)).alias("low"),
        pl.lit(max(high, on)).alias("high"),
    ).select(pl.col(name).cast(dtype) for name, dtype in MARKS.items())


def lives_words(
    unit: str, sets: pl.DataFrame, failures: pl.DataFrame, *, as_of: date
) -> tuple[str, ...]:
    """What the drawing of a machine's lives shows: how many sets, then a sentence for each."""
    if sets.is_empty():
        return (f"Nothing is known of the capacitors of {unit}.",)
    count = sets.height
    first = (
        f"{unit} has had one set of capacitors"
        if count == 1
        else f"{unit} has had {count} sets of capacitors"
    )
    by_set = failures.group_by("set_no").agg(pl.struct(pl.all()).alias("all"))
    told = dict(by_set.select("set_no", "all").iter_rows())
    return (
        f"{first}, as known on {_day(as_of)}.",
        *(
            _one(row, told.get(row["set_no"], []), as_of)
            for row in with_ends(sets).iter_rows(named=True)
        ),
    )


def _one(row: Mapping[str, Any], failures: list[dict[str, Any]], as_of: date) -> str:
    batch = f" ({row['batch']})" if row["batch"] and ":" not in row["batch"] else ""
    said = [f"Set {row['set_no']}, {_PARTS[row['parts']]}{batch}: {_began(row)}"]
    if row["in_vain"]:
        said.append("the machine did not work when it was fitted")
    if row["watched_from"] is None:
        said.append("nobody watched it while it worked")
    elif row["set_no"] == 1 or row["watched_from"] > (row["started_latest"] or as_of):
        said.append(f"watched from {_day(row['watched_from'])}")
    said += [_failure(one) for one in failures]
    if row["last_working"] is not None:
        said.append(f"last known working {_day(row['last_working'])}")
    ended = {"recapped": "replaced", "board_swapped": "its board swapped", "retired": "retired"}
    if row["ended_on"] is not None:
        when = _within(row["ended_earliest"], row["ended_latest"])
        said.append(f"{ended.get(row['ended_by'], 'ended')} {when}")
    elif row["failed"]:
        said.append("not seen working since")
    return "; ".join(said) + "."


def _began(row: Mapping[str, Any]) -> str:
    early, late = row["started_earliest"], row["started_latest"]
    verb = "new" if row["set_no"] == 1 else "fitted"
    if early is None or late is None:
        return f"nothing tells when it was {verb}"
    return f"{verb} {_within(early, late)}"


def _within(early: date, late: date) -> str:
    if early == late:
        return _day(early)
    if (early.month, early.day, late.month, late.day) == (1, 1, 12, 31):
        years = str(early.year) if early.year == late.year else f"{early.year} to {late.year}"
        return f"some time in {years}"
    return f"some time from {_day(early)} to {_day(late)}"


def _failure(one: Mapping[str, Any]) -> str:
    what = _FAILED[one["cause"]].replace(":", " by" if one["cause"] == "capacitor" else ",")
    early, late = one["earliest"], one["latest"]
    if early is None:
        return f"{what}, by {_day(late)}"
    if early == late:
        return f"{what}, {_day(late)}"
    return f"{what}, between {_day(early)} and {_day(late)}"


def _day(value: date) -> str:
    return f"{value.day} {value:%B %Y}"
