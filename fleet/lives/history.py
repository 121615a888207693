"""What was reported of each unit, in order, and which set of capacitors it was about."""

import polars as pl

from fleet.lives.contradictions import REPLACING

# Within a day: seen working, then failed (and told again), then put right, then retired. Of what
# was done on one day, what did not cure comes first.
_RANK = {"failed": 2, "repaired": 6, "recapped": 6, "board_swapped": 6, "retired": 8}
_AGAIN = 2


def order_key() -> list[str]:
    """The columns that put the events of all units in order; ids settle what dates leave open."""
    return ["idx", "key", "rank", "record"]


def narrow_reports(reports: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """Reports with ranges of days cut at the build date, and those of failures at the repair
    within them that answers them.
    """
    built = units.select("idx", "s0").drop_nulls()
    cut = reports.join(built, on="idx", how="left", maintain_order="left").with_columns(
        e=pl.when(pl.col("s0") <= pl.col("l")).then(pl.max_horizontal("e", "s0")).otherwise("e")
    )
    return _answer_failures(cut.drop("s0"))


def place_reports(reports: pl.DataFrame) -> pl.DataFrame:
    """Reports with `key` and `rank`, their place in order; recaps of one date are made one.

    A range of days takes the place that promises least: a machine seen working some time in a
    range counts on its first day, a recap, retirement or failure on its last.
    """
    at_end = pl.col("kind").is_in(["failed", "repaired", "retired", *REPLACING])
    rank = pl.col("kind").replace_strict(_RANK, default=0, return_dtype=pl.Int8)
    return _merge_same_day(reports).with_columns(
        key=pl.when(at_end).then("l").otherwise("e"),
        rank=rank + _AGAIN * pl.col("again").cast(pl.Int8) - _uncured().cast(pl.Int8),
    )


def _uncured() -> pl.Expr:
    """Something was done, and the machine did not work afterwards."""
    fixes = pl.col("kind").is_in(["repaired", *REPLACING])
    return fixes & ~pl.col("cured").fill_null(value=True)


def _answer_failures(reports: pl.DataFrame) -> pl.DataFrame:
    """End the range of a failure at the first repair within it that was not planned."""
    vague = reports.filter((pl.col("kind") == "failed") & (pl.col("e") < pl.col("l")))
    because = pl.col("because").fill_null("")
    repairs = reports.filter(
        pl.col("kind").is_in(["repaired", *REPLACING]) & ~because.is_in(["planned", "reading"])
    ).select("idx", answered="l")
    if vague.is_empty() or repairs.is_empty():
        return reports
    answers = (
        vague.select("idx", "record", "l", after=pl.max_horizontal("e", "lkw"))
        .sort("after")
        .join_asof(
            repairs.sort("answered"),
            left_on="after",
            right_on="answered",
            by="idx",
            strategy="forward",
            check_sortedness=False,
        )
        .filter(pl.col("answered") < pl.col("l"))
        .select("idx", "record", "answered")
    )
    return (
        reports.join(answers, on=["idx", "record"], how="left", maintain_order="left")
        .with_columns(l=pl.coalesce("answered", "l"))
        .drop("answered")
    )


def _merge_same_day(reports: pl.DataFrame) -> pl.DataFrame:
    """Make several reports of parts fitted on one date one: the first keeps what all of them say,
    the others become `merged`, which says nothing.
    """
    fitted = reports.filter(pl.col("kind").is_in(REPLACING))
    day = ["idx", "e", "l"]
    several = (
        fitted.sort("record")
        .group_by(day, maintain_order=True)
        .agg(
            pl.len().alias("rows"),
            keep=pl.col("record").first(),
            any_whole=pl.col("whole").any(),
            any_batch=pl.col("batch").drop_nulls().first(),
            any_because=pl.col("because").drop_nulls().sort().first(),
            any_swap=(pl.col("kind") == "board_swapped").any(),
            any_cured=pl.col("cured").max(),  # it worked in the end if one says so
        )
        .filter(pl.col("rows") > 1)
    )
    if several.is_empty():
        return reports
    here = pl.col("keep").is_not_null() & pl.col("kind").is_in(REPLACING)
    first = here & (pl.col("record") == pl.col("keep"))
    return (
        reports.join(several, on=day, how="left", maintain_order="left")
        .with_columns(
            kind=pl.when(first & pl.col("any_swap"))
            .then(pl.lit("board_swapped"))
            .when(here & ~first)
            .then(pl.lit("merged"))
            .otherwise("kind"),
            whole=pl.when(first).then("any_whole").otherwise("whole"),
            batch=pl.when(first).then("any_batch").otherwise("batch"),
            because=pl.when(first).then("any_because").otherwise("because"),
            cured=pl.when(first).then("any_cured").otherwise("cured"),
        )
        .drop("rows", "keep", "any_whole", "any_batch", "any_because", "any_swap", "any_cured")
    )


def order_events(placed: pl.DataFrame, enrolments: pl.DataFrame, *, degraded: bool) -> pl.DataFrame:
    """Every event of every unit in order, with the running state of its set of capacitors.

    Parameters
    ----------
    placed
        Reports as `place_reports` gives them.
    enrolments
        Units enrolled working: idx, enrolled.
    degraded
        True: a recap because of a reading counts as a failure on that day.

    Returns
    -------
    Columns of the reports and: `set_no`; `gid` (number of the unit's set); `seen` (day on which
    the machine was seen working); `fails` (this event is a failure of a machine, or is a recap
    that says there was one); `implied` (`recap` or `reading`, for failures nobody reported);
    `replaces` (ends its set); `ep` (how often the set was seen working before: failures with the
    same `ep` are one failure); `seen_before` (last day it was seen working before this event);
    `open` (failed and not seen working since, this event included); `uncured` (something was done
    and it did not work afterwards); `unproved` (the set was fitted so, and has not been seen
    working before this event); `down` (not seen working since something was done in vain, this
    event included).
    """
    kind = pl.col("kind")
    told = placed.drop("positions", "lkw_l", "symptom").with_columns(
        seen=pl.when(kind.is_in(["working", "repaired"]) & ~_uncured()).then("e"),
        real=pl.lit(True),
    )
    last_known = placed.filter(pl.col("lkw").is_not_null()).select(
        "idx", "record", kind=pl.lit("seen"), e="lkw", l="lkw", key="lkw", seen="lkw",
        rank=pl.lit(0, pl.Int8), real=pl.lit(False), lkw=pl.lit(None, pl.Date),
    )  # fmt: skip
    joined = enrolments.select(
        "idx", kind=pl.lit("enrolled"), e="enrolled", l="enrolled", key="enrolled",
        seen="enrolled", rank=pl.lit(0, pl.Int8), real=pl.lit(False),
    )  # fmt: skip
    events = pl.concat([told, last_known, joined], how="diagonal").sort(order_key())
    return _states(_number_sets(events), degraded=degraded)


def _number_sets(events: pl.DataFrame) -> pl.DataFrame:
    """Sets numbered within the unit; rows are in order, so running sums do without groups."""
    new_unit = (pl.col("idx") != pl.col("idx").shift(1)).fill_null(True)
    replaces = pl.col("kind").is_in(REPLACING)
    return (
        events.with_columns(new_unit=new_unit, replaces=replaces, uncured=_uncured())
        .with_columns(new_set=pl.col("new_unit") | pl.col("replaces").shift(1).fill_null(True))
        .with_columns(gid=pl.col("new_set").cum_sum().cast(pl.Int64).set_sorted())
        .with_columns(
            set_no=pl.col("gid") - pl.when("new_unit").then("gid").forward_fill() + 1,
            ep=_since_set_began(pl.col("seen").is_not_null()),
            row=pl.int_range(pl.len(), dtype=pl.Int64),
        )
        .with_columns(
            seen_before=_latest_before(pl.col("seen")),
            set_row=pl.when("new_set").then("row").forward_fill(),
            unproved=_fitted_in_vain() & (pl.col("ep") == 0),
        )
    )


def _fitted_in_vain() -> pl.Expr:
    """The set of this row began with a recap or swap that did not cure."""
    before = (pl.col("uncured") & pl.col("replaces")).shift(1).fill_null(value=False)
    began = pl.when("new_set").then(before & ~pl.col("new_unit"))
    return began.forward_fill().fill_null(value=False)


def _since_set_began(flag: pl.Expr) -> pl.Expr:
    """How many earlier rows of the same set have the flag."""
    before = flag.cast(pl.Int64).cum_sum() - flag.cast(pl.Int64)
    return before - pl.when("new_set").then(before).forward_fill()


def _latest_before(day: pl.Expr) -> pl.Expr:
    """Latest of `day` over the earlier rows of the same set.

    The set's number is put above the day in one integer that never falls from set to set, so
    that one running maximum over all rows does.
    """
    code = pl.col("gid") * 2**21 + day.cast(pl.Int32).cast(pl.Int64) + 2**20
    top = code.cum_max().forward_fill().shift(1)
    same = (top // 2**21) == pl.col("gid")
    return pl.when(same).then((top % 2**21 - 2**20).cast(pl.Int32).cast(pl.Date))


def _states(events: pl.DataFrame, *, degraded: bool) -> pl.DataFrame:
    # What never worked cannot fail: reports of it say again that it does not work.
    reported = (pl.col("kind") == "failed") & ~pl.col("unproved")
    last_seen = pl.when(pl.col("seen").is_not_null()).then("row").forward_fill()
    last_failed = pl.when(reported).then("row").forward_fill()
    was_open = (last_failed >= pl.col("set_row")).fill_null(False) & (
        last_failed > last_seen.fill_null(-1)
    )
    because = pl.col("because").fill_null("")
    ran = pl.col("replaces") & ~pl.col("was_open") & ~pl.col("unproved")
    recap = (because == "failure") & ran
    reading = (because == "reading") & ran & degraded
    last_vain = pl.when(pl.col("uncured") & ~pl.col("replaces")).then("row").forward_fill()
    in_vain = (last_vain >= pl.col("set_row")) & (last_vain > last_seen.fill_null(-1))
    still = pl.col("unproved") & pl.col("seen").is_null()
    return events.with_columns(
        was_open=was_open, down=still | in_vain.fill_null(value=False)
    ).with_columns(
        fails=reported | recap | reading,
        implied=pl.when(recap).then(pl.lit("recap")).when(reading).then(pl.lit("reading")),
        open=pl.col("was_open") | reported | recap | reading,
    )
