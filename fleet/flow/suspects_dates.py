"""Failures of a batch that fall together on the calendar, from reports whose day is known well."""

from datetime import date
from pathlib import Path

import polars as pl

_WELL = 45  # days within which a failure's date must be known; our own rule
_BY = ("model", "parts", "batch")


def dated_failures(
    lives: pl.DataFrame, reports: pl.DataFrame, units: pl.DataFrame, *, as_of: date
) -> pl.DataFrame:
    """Failures noticed when they happened: model, parts, batch, unit, site, and
    fits.suspects.close_in_date.DATED, days since 1970.

    Failures found at a check are left out: they crowd on the days of checks.
    """
    told = reports.filter(
        (pl.col("kind") == "failed")
        & ((pl.col("date_latest") - pl.col("date_earliest")).dt.total_days() <= _WELL)
        & ~pl.col("found_dead").fill_null(value=False)
    )
    seen = pl.coalesce("last_known_working_earliest", "date_earliest")
    told = told.filter((pl.col("date_latest") - seen).dt.total_days() <= _WELL)
    first, last = (pl.col(c).cast(pl.Int32) for c in ("date_earliest", "date_latest"))
    day = told.select(report="record", day=((first + last) / 2.0))
    failed = lives.filter(
        pl.col("high").is_not_null()
        & (pl.col("count") >= 0.5)
        & (pl.col("noticed") != "at_check").fill_null(value=True)
    ).with_row_index("life")
    named = (
        failed.select("life", report=pl.col("reports").str.split(";"))
        .explode("report")
        .join(day, on="report")
        .group_by("life")
        .agg(pl.col("day").min())
    )
    sites = units.group_by("unit").agg(pl.col("site").drop_nulls().last())
    age = (pl.col("low") + pl.col("high")) / 2.0
    today = float((as_of - date(1970, 1, 1)).days)
    dated = (
        failed.join(named, on="life")
        .join(sites, on="unit", how="left")
        .with_columns(age=age, start=pl.col("day") - age)
    )
    oldest = pl.coalesce("known_by", today - pl.col("start"))
    return dated.select(
        *_BY, "unit", "site", "start", "age", youngest=pl.col("entry"), oldest=oldest
    ).sort(*_BY, "unit")


def dated_from(lives: pl.DataFrame, store: Path, *, as_of: date) -> pl.DataFrame:
    """The same, reports and sites read from the store."""
    from fleet.flow.known import known_records

    records = known_records(store, ("reports", "units"), as_of=as_of)
    return dated_failures(lives, records["reports"], records["units"], as_of=as_of)
