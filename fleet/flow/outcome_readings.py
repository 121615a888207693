"""What was measured before and after each job, position by position. METHODS: outcomes."""

import polars as pl

from fleet.flow.position_readings import with_facts

# Days a reading may lie from the job it belongs to. Our own rule.
NEAR_DAYS = 60
_MEASURED = ("esr_ohm", "capacitance", "volts_positive", "volts_negative")

BEFORE_AFTER = pl.Schema(
    {
        "unit": pl.String(),
        "model": pl.String(),
        "record": pl.String(),  # of the job
        "on": pl.Date(),
        "position": pl.String(),
        "nominal": pl.String(),  # capacitance of the place, as recorded
        **{f"{c}_before": pl.String() if c == "capacitance" else pl.Float64() for c in _MEASURED},
        "verdict_before": pl.String(),  # bad, good; null: does not say, or not measured
        **{f"{c}_after": pl.String() if c == "capacitance" else pl.Float64() for c in _MEASURED},
        "verdict_after": pl.String(),
        "after": pl.String(),  # passes, fails, does_not_say, none, or left_in_place
    }
)


def before_and_after(
    jobs: pl.DataFrame, readings: pl.DataFrame, positions: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    """BEFORE_AFTER: a row for each job and each position read, in order of unit, day, position.

    `jobs`: lives.recaps.RECAPS. A reading of stage `before` belongs to the next job within 60
    days, one of stage `after` to the last job within 60 days before it. Of several the last
    counts. Judged by the limit written beside the reading, else by the facts of the position.
    """
    from fleet.capacitors import judge_readings

    told = readings.filter(
        pl.col("stage").is_in(["before", "after"]) & (pl.col("position") != "hours")
    )
    judged = judge_readings(with_facts(told, positions, units)).with_columns(
        day=pl.coalesce("date_latest", "date_earliest")
    )
    owned = pl.concat([_owned(judged, jobs, stage) for stage in ("before", "after")])
    last = (
        owned.sort("day", "entered_on", "record_read", nulls_last=False)
        .group_by("record", "position", "stage")
        .agg(pl.col(*_MEASURED, "verdict").last())
    )
    sides = [
        last.filter(stage=stage)
        .drop("stage")
        .rename({c: f"{c}_{stage}" for c in (*_MEASURED, "verdict")})
        .with_columns(pl.lit(value=True).alias(stage))
        for stage in ("before", "after")
    ]
    both = sides[0].join(sides[1], on=["record", "position"], how="full", coalesce=True)
    measured = pl.col("after").fill_null(value=False)
    return (
        jobs.select("unit", "model", "record", "on", fitted=_fitted())
        .join(both, on="record")
        .join(_nominal(positions), on=["model", "position"], how="left")
        .with_columns(
            after=pl.when(~measured & ~pl.col("fitted").list.contains(pl.col("position")))
            .then(pl.lit("left_in_place"))
            .when(~measured)
            .then(pl.lit("none"))
            .otherwise(
                pl.col("verdict_after")
                .replace({"good": "passes", "bad": "fails"})
                .fill_null("does_not_say")
            )
        )
        .sort("unit", "on", "record", "position")
        .select(pl.col(c).cast(t) for c, t in BEFORE_AFTER.items())
    )


def _nominal(positions: pl.DataFrame) -> pl.DataFrame:
    """model, position, nominal: the capacitance each place asks for."""
    one = positions.sort("model", "position", "record").unique(
        ["model", "position"], keep="first", maintain_order=True
    )
    return one.select("model", "position", nominal="capacitance")


def _fitted() -> pl.Expr:
    """Positions replaced, as a list; null: all."""
    named = pl.when(~pl.col("whole")).then("positions")
    return named.str.split(";").list.eval(pl.element().str.strip_chars())


def _owned(readings: pl.DataFrame, jobs: pl.DataFrame, stage: str) -> pl.DataFrame:
    """Readings of one stage with `record`, the job they belong to."""
    days = jobs.select("unit", "record", job_day="on").sort("job_day")
    mine = readings.filter(stage=stage).rename({"record": "record_read"}).drop_nulls("day")
    return (
        mine.sort("day")
        .join_asof(
            days,
            left_on="day",
            right_on="job_day",
            by="unit",
            strategy="forward" if stage == "before" else "backward",
            tolerance=f"{NEAR_DAYS}d",
            check_sortedness=False,
        )
        .drop_nulls("record")
        .select("record", "record_read", "position", "stage", "day", "entered_on", *_MEASURED,
                "verdict")
    )  # fmt: skip


def readings_of_jobs(both: pl.DataFrame) -> pl.DataFrame:
    """Of each job that was measured: record, bad_before (positions), after (its worst)."""
    after = pl.col("after")
    return both.group_by("record").agg(
        bad_before=(pl.col("verdict_before") == "bad").sum().cast(pl.Int64),
        after=pl.when((after == "fails").any())
        .then(pl.lit("fails"))
        .when((after == "passes").any())
        .then(pl.lit("passes"))
        .when((after == "does_not_say").any())
        .then(pl.lit("does_not_say"))
        .otherwise(pl.lit("none")),
        failing=pl.col("position").filter(after == "fails").sort().str.join(";"),
    )
