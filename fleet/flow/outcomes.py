"""How recaps turned out: cured or not, failed again early, measured afterwards.

METHODS: outcomes, success, early-failures
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.ages import days
from fleet.flow.answers import READ
from fleet.flow.kept import kept
from fleet.flow.outcome_early import early_beside_luck
from fleet.flow.outcome_readings import BEFORE_AFTER, before_and_after, readings_of_jobs
from fleet.flow.outcome_words import notes_of, words_of
from fleet.flow.table import Answer
from fleet.frames import SUCCESS, empty_frame

EARLY_MONTHS = 6.0  # failing again within these is failing early; our own rule
LEVEL = 0.90
READ_FOR_OUTCOMES = (*READ, "readings")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcomes(Answer):
    """`frame`: a row a model; `jobs`: a row a job; `positions`: before and after; `words`.

    `frame` has SUCCESS and kind, recaps (all under watch), unknown (of whose outcome nothing is
    known), not_cured, failed_early, early_watched (whole recaps watched for a while), early_failed
    (of those), early_expected and early_chance (by luck alone; null: unknown), no_after_reading,
    after_fails, swaps. `jobs` has RECAPS (ages in days) and counted, succeeded (null: unknown),
    bad_before, after, failing.
    """

    jobs: pl.DataFrame = field(default_factory=pl.DataFrame)
    positions: pl.DataFrame = field(default_factory=lambda: empty_frame(BEFORE_AFTER))
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # by model


def success_of(
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    early_months: float = EARLY_MONTHS,
    level: float = LEVEL,
) -> pl.DataFrame:
    """The chance that the next recap of each model succeeds (frames.SUCCESS), every model present.

    `records`: known frames as `build_lives` reads them. A job succeeded when the machine worked
    afterwards and did not fail again within `early_months`.
    """
    counted = _with_success(jobs_done(records, as_of=as_of, early_months=early_months))
    return _success(counted, records, level=level)


def outcomes(
    store: Path,
    *,
    as_of: date,
    early_months: float = EARLY_MONTHS,
    level: float = LEVEL,
) -> Outcomes:
    """How the recaps of a store turned out, by model, by job and by position."""
    from fleet.flow.known import known_records

    records = known_records(store, READ_FOR_OUTCOMES, as_of=as_of)
    return outcomes_of(records, as_of=as_of, early_months=early_months, level=level)


def outcomes_of(
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    early_months: float = EARLY_MONTHS,
    level: float = LEVEL,
) -> Outcomes:
    """The same of known frames of the kinds READ_FOR_OUTCOMES."""
    done = jobs_done(records, as_of=as_of, early_months=early_months)
    both = before_and_after(done, records["readings"], records["positions"], records["units"])
    jobs = (
        _with_success(done)
        .join(readings_of_jobs(both), on="record", how="left", maintain_order="left")
        .with_columns(pl.col("after").fill_null("none"), pl.col("bad_before").fill_null(0))
    )
    early = early_beside_luck(records, jobs, as_of=as_of, early_months=early_months)
    frame = (
        _success(jobs, records, level=level)
        .join(_kinds(records), on="model", how="left", maintain_order="left")
        .join(_counts(jobs), on="model", how="left", maintain_order="left")
        .join(early, on="model", how="left", maintain_order="left")
        .with_columns(pl.col(*_COUNTED, "early_watched", "early_failed").fill_null(0))
        .filter((pl.col("recaps") > 0) | (pl.col("swaps") > 0))
    )
    words = {row["model"]: words_of(row, early_months, level) for row in frame.rows(named=True)}
    return Outcomes(
        frame=frame, notes=notes_of(jobs, early_months), jobs=jobs, positions=both, words=words
    )


def outcomes_of_model(
    records: Mapping[str, pl.DataFrame],
    model: str,
    *,
    as_of: date,
    early_months: float = EARLY_MONTHS,
    level: float = LEVEL,
) -> Mapping[str, Any] | None:
    """The row of one model in `frame` as far as it says how recaps turned out: SUCCESS and
    early_watched, early_failed, early_expected and early_chance; None without a recap under watch.

    What fresh parts do is learned only where a recap failed early: else the last two are null.
    """
    jobs = _with_success(jobs_done(records, as_of=as_of, early_months=early_months))
    own = jobs.filter(pl.col("counted") & (pl.col("model") == model))
    if own.is_empty():
        return None
    row = _success(jobs, records, level=level).row(
        by_predicate=pl.col("model") == model, named=True
    )
    whole = own.filter("whole", (pl.col("watched") > 0) | pl.col("failed_early"))
    early = {"early_watched": whole.height, "early_failed": int(whole["failed_early"].sum()),
             "early_expected": None, "early_chance": None}  # fmt: skip
    if early["early_failed"]:
        found = early_beside_luck(
            records, jobs, as_of=as_of, early_months=early_months, model=model
        )
        early |= found.row(0, named=True)
    return {**row, **early}


def jobs_done(
    records: Mapping[str, pl.DataFrame], *, as_of: date, early_months: float
) -> pl.DataFrame:
    """lives.recaps.RECAPS of known frames; the same ones are read once while answers are kept."""
    from fleet.lives.recaps import recaps_of

    return kept(
        "jobs done",
        [records.get(kind) for kind in READ],
        (as_of, early_months),
        lambda: recaps_of(records, as_of=as_of, early_days=days(early_months / 12.0)),
    )


def _with_success(jobs: pl.DataFrame) -> pl.DataFrame:
    """Jobs with `counted` (a recap under watch) and `succeeded`."""
    known = (pl.col("cured") != "unknown") | pl.col("failed_early")
    good = (pl.col("cured") == "yes") & ~pl.col("failed_early")
    return jobs.with_columns(
        counted=(pl.col("how") == "recapped") & ~pl.col("history"),
        succeeded=pl.when(known).then(good),
    )


def _success(
    jobs: pl.DataFrame, records: Mapping[str, pl.DataFrame], *, level: float
) -> pl.DataFrame:
    from fleet.fits.success import success_chances

    told = jobs.filter("counted").drop_nulls("succeeded")
    done = told.group_by("model").agg(
        jobs=pl.len().cast(pl.Int64), cured=pl.col("succeeded").sum().cast(pl.Int64)
    )
    counts = (
        _kinds(records)
        .join(done, on="model", how="left")
        .with_columns(pl.col("jobs", "cured").fill_null(0))
        .sort("model")
    )
    return success_chances(counts, level=level).select(list(SUCCESS)).cast(SUCCESS)


def _kinds(records: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Every model that is recorded or has a unit, with its kind (null: unknown)."""
    named = pl.concat([records["models"].select("model"), records["units"].select("model")])
    told = records["models"].group_by("model").agg(pl.col("kind").drop_nulls().first())
    return named.drop_nulls().unique().join(told, on="model", how="left")


_COUNTED = ("recaps", "unknown", "not_cured", "failed_early", "no_after_reading", "after_fails",
            "swaps")  # fmt: skip


def _counts(jobs: pl.DataFrame) -> pl.DataFrame:
    recap = pl.col("counted")
    swap = (pl.col("how") == "board_swapped") & ~pl.col("history")
    of = {
        "recaps": recap,
        "unknown": recap & pl.col("succeeded").is_null(),
        "not_cured": recap & (pl.col("cured") == "no"),
        "failed_early": recap & pl.col("failed_early"),
        "no_after_reading": recap & (pl.col("after") == "none"),
        "after_fails": recap & (pl.col("after") == "fails"),
        "swaps": swap,
    }
    return jobs.group_by("model").agg(
        these.sum().cast(pl.Int64).alias(name) for name, these in of.items()
    )
