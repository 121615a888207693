"""Every recap and swapped board as a job: what it answered, and what became of it.

METHODS: outcomes
"""

from collections.abc import Mapping
from datetime import date

import polars as pl

from fleet.ages import days_expr
from fleet.lives.build import settle_units
from fleet.lives.contradictions import REPLACING
from fleet.lives.history import order_events
from fleet.lives.inputs import OPEN, know

RECAPS = pl.Schema(
    {
        "unit": pl.String(),
        "model": pl.String(),
        "record": pl.String(),
        "how": pl.String(),  # recapped or board_swapped
        "set_no": pl.Int64(),  # of the set that it began
        "on": pl.Date(),  # the last day on which it can have been done
        "positions": pl.String(),  # as entered; null: all
        "whole": pl.Boolean(),
        "batch": pl.String(),
        "because": pl.String(),  # planned, failure, reading
        "failed_on": pl.Date(),  # first told day of the failure it answers; null: none told
        "symptom": pl.String(),  # of that failure, else as the job has it
        "cause": pl.String(),  # of that failure: capacitor, other, unknown; null: none told
        "history": pl.Boolean(),  # done before the unit was known: only what it outlived is seen
        "cured": pl.String(),  # yes, no, unknown: whether the machine worked afterwards
        "known_by": pl.String(),  # told, seen_working, failed_early, repaired_early, failed_later
        "seen_on": pl.Date(),  # first day it was seen working afterwards
        "again_on": pl.Date(),  # day by which it had failed again with these parts
        "again_after": pl.Float64(),  # days from the job to that day
        "again_cause": pl.String(),
        "again_symptom": pl.String(),
        "again_at": pl.String(),  # positions suspected then, as entered
        "failed_early": pl.Boolean(),  # again within the early days, put down to the job
        "watched": pl.Float64(),  # days from the job to when it was last known how it was
    }
)


def recaps_of(
    records: Mapping[str, pl.DataFrame], *, as_of: date, early_days: float
) -> pl.DataFrame:
    """RECAPS as known on a date, in order of unit and day.

    `records` are those of `build_lives`; units whose records disagree are missing, and two
    tellings of one recap are one. `cured` is what was told, else read off what came next: seen
    working is yes; failed again (tied to the job) or repaired within `early_days`, before anybody
    saw it working, is no; failed only later is yes, as what never worked cannot fail, but for
    machines found dead. A failure is tied to the job whatever its cause (a cracked joint is no
    capacitor's failure), unless it was, after a recap of some positions, at others. Raises BadFrame
    for a frame that is not as `known_schema` says.
    """
    settled = settle_units(know(_with_jobs(records), as_of), as_of)
    working = settled.units.filter(pl.col("because") == "working").select("idx", "enrolled")
    events = order_events(settled.placed, working, degraded=False)
    jobs = (
        _jobs(events, settled.placed)
        .join(_troubles(events, settled.placed), on=["idx", "spell"], how="left")
        .join(_next(events), on=["idx", "set_no"], how="left")
        .join(_again(events, settled.placed), on=["idx", "set_no"], how="left")
        .join(_known_set(events, settled.units), on="idx", how="left")
        .join(settled.units.select("idx", "unit", "model"), on="idx")
    )
    return (
        _judge(jobs, early_days)
        .sort("unit", "set_no")
        .select(pl.col(c).cast(t) for c, t in RECAPS.items())
    )


def _with_jobs(records: Mapping[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The records of those units alone that a job was told of: each unit is judged by itself."""
    reports, units = records.get("reports"), records.get("units")
    if reports is None or units is None or not {"unit", "kind"} <= set(reports.columns):
        return dict(records)
    jobs = reports.filter(pl.col("kind").is_in(list(REPLACING))).select("unit").unique()
    mine = {
        kind: frame.join(jobs, on="unit", how="semi", maintain_order="left")
        for kind, frame in (("reports", reports), ("units", units))
        if "unit" in frame.columns
    }
    return {**records, **mine}


def _spell() -> pl.Expr:
    """Number of the stretch between sights of the machine working, for every event of a unit."""
    worked = pl.col("seen").is_not_null() | (pl.col("replaces") & ~pl.col("uncured"))
    one = worked.cast(pl.Int64)
    return (one.cum_sum() - one).over("idx")


def _jobs(events: pl.DataFrame, placed: pl.DataFrame) -> pl.DataFrame:
    texts = placed.select("record", "positions", job_symptom="symptom")
    return (
        events.with_columns(spell=_spell())
        .filter(pl.col("replaces"))
        .join(texts, on="record", how="left", maintain_order="left")
        .select(
            "idx", "record", "spell", "positions", "job_symptom", "batch", "because", "cured",
            how="kind",
            whole=pl.col("whole") | (pl.col("kind") == "board_swapped"),
            on="l",
            set_no=pl.col("set_no") + 1,
        )
    )  # fmt: skip


def _troubles(events: pl.DataFrame, placed: pl.DataFrame) -> pl.DataFrame:
    """What was told of failing in each stretch: idx, spell, failed_on, symptom, cause."""
    told = pl.col("cause")
    return (
        events.with_columns(spell=_spell())
        .filter(pl.col("kind") == "failed")
        .join(placed.select("record", "symptom"), on="record", how="left", maintain_order="left")
        .group_by("idx", "spell", maintain_order=True)
        .agg(
            failed_on=pl.col("l").first(),
            symptom=pl.col("symptom").drop_nulls().first(),
            cause=pl.when((told == "capacitor").any())
            .then(pl.lit("capacitor"))
            .when((told == "other").any())
            .then(pl.lit("other"))
            .otherwise(pl.lit("unknown")),
        )
    )


def _next(events: pl.DataFrame) -> pl.DataFrame:
    """Of each set what says first how the machine was, and until when that is known.

    idx, set_no, first_kind, first_because, first_cause, first_dead, first_l; seen_on; last_l.
    """
    says = pl.col("kind").is_in(["failed", "repaired", *REPLACING]) | pl.col("seen").is_not_null()
    known = events.filter(says).with_columns(
        kind=pl.when(pl.col("kind").is_in(["seen", "enrolled"]))
        .then(pl.lit("working"))
        .otherwise("kind"),
        # What stands in for an unknown day tells no date.
        good=pl.when(pl.col("seen") > OPEN).then("seen"),
    )
    return known.group_by("idx", "set_no", maintain_order=True).agg(
        *(
            pl.col(c).first().alias(f"first_{c}")
            for c in ("kind", "because", "cause", "dead", "l", "uncured")
        ),
        seen_on=pl.col("good").drop_nulls().first(),
        last_l=pl.max_horizontal(pl.col("l").filter(~_sight()).max(), pl.col("good").max()),
    )


def _sight() -> pl.Expr:
    return pl.col("seen").is_not_null()


def _again(events: pl.DataFrame, placed: pl.DataFrame) -> pl.DataFrame:
    """The first failure of each set: idx, set_no, again_on, _cause, _symptom, _at."""
    failed = events.filter(
        pl.col("fails") & (pl.col("implied").is_null() | (pl.col("implied") == "recap"))
    )
    cause = pl.when(pl.col("implied").is_not_null() & ~pl.col("uncured")).then(pl.lit("capacitor"))
    texts = placed.select("record", "symptom", at="positions")
    return (
        failed.join(texts, on="record", how="left", maintain_order="left")
        .group_by("idx", "set_no", maintain_order=True)
        .agg(
            again_on=pl.col("l").first(),
            again_cause=pl.coalesce(cause, "cause", pl.lit("unknown")).first(),
            again_symptom=pl.col("symptom").first(),
            # A recap that tells of a failure names what it replaced, not what had failed.
            again_at=pl.when(pl.col("kind") == "failed").then("at").first(),
        )
    )


def _known_set(events: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """The set by which each unit came to be known: idx, known_set, enr_l."""
    enrolled = (
        events.filter(pl.col("kind") == "enrolled")
        .group_by("idx")
        .agg(known_set=pl.col("set_no").max())
    )
    broken = units.filter(pl.col("because") == "failed").select("idx", "enr_l")
    fails = events.filter("fails").join(broken, on="idx")
    failed = fails.group_by("idx").agg(
        known_set=pl.coalesce(
            pl.col("set_no").filter(pl.col("e") <= pl.col("enr_l")).max(), pl.col("set_no").min()
        )
    )
    sets = pl.concat([enrolled.select("idx", "known_set"), failed.select("idx", "known_set")])
    return units.select("idx", enrolled_by="enr_l").join(sets, on="idx", how="left")


def _judge(jobs: pl.DataFrame, early_days: float) -> pl.DataFrame:
    on = pl.col("on")
    first, after = pl.col("first_kind"), days_expr(on, pl.col("first_l"))
    again_after = days_expr(on, pl.col("again_on")).clip(lower_bound=0.0)
    soon = after <= early_days
    # A recap that says it was made because of a failure tells of one.
    fails = (first == "failed") | (
        first.is_in(REPLACING) & (pl.col("first_because") == "failure").fill_null(value=False)
    )
    vain = (first == "repaired") & pl.col("first_uncured")
    tied = _tied()
    proved = first.is_in(["working"]) | (
        first.is_in(REPLACING)
        & pl.col("first_because").is_in(["planned", "reading"]).fill_null(value=False)
    )
    known_by = (
        pl.when(pl.col("cured").is_not_null())
        .then(pl.lit("told"))
        .when(proved)
        .then(pl.lit("seen_working"))
        .when(fails & soon & tied)
        .then(pl.lit("failed_early"))
        .when((first == "repaired") & (soon | vain))
        .then(pl.lit("repaired_early"))
        .when(fails & ~pl.col("first_dead").fill_null(value=False))
        .then(pl.lit("failed_later"))
    )
    yes = (pl.col("known_by") == "told") & pl.col("cured") | pl.col("known_by").is_in(
        ["seen_working", "failed_later"]
    )
    return jobs.with_columns(
        known_by=known_by,
        again_after=again_after,
        symptom=pl.coalesce("symptom", "job_symptom"),
        # Before the unit was known nobody would have told of a job after which it was thrown away.
        history=pl.coalesce(
            pl.col("set_no") <= pl.col("known_set"), on < pl.col("enrolled_by"), pl.lit(value=False)
        ),
        watched=days_expr(on, pl.coalesce("again_on", "last_l")).clip(lower_bound=0.0).fill_null(0),
    ).with_columns(
        cured=pl.when(pl.col("known_by").is_null())
        .then(pl.lit("unknown"))
        .when(yes)
        .then(pl.lit("yes"))
        .otherwise(pl.lit("no")),
        failed_early=((pl.col("again_after") <= early_days) & tied).fill_null(value=False),
    )


def _tied() -> pl.Expr:
    """Whether a failure soon after a job is put down to the job."""
    named, fitted = (
        pl.col(c).fill_null("all").str.to_lowercase().str.replace_all(" ", "").str.split(";")
        for c in ("again_at", "positions")
    )
    everywhere = named.list.contains("all") | fitted.list.contains("all") | pl.col("whole")
    return everywhere | (named.list.set_intersection(fitted).list.len() > 0)
