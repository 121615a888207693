"""Each machine with the last thing told of it, brought up to date by the reports that came."""

from dataclasses import dataclass

import polars as pl

_FEW = 500  # machines with other reports than before that are looked at by themselves


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LastReports:
    """`frame`: unit, model, serial, date, kind (null: no report); with what it was made of."""

    frame: pl.DataFrame
    reports: pl.DataFrame
    latest: pl.DataFrame


def last_reports(
    reports: pl.DataFrame, units: pl.DataFrame, before: LastReports | None = None
) -> LastReports:
    """The latest report of each unit; known frames. `before`: what this gave of earlier records."""
    latest = _again(reports, before) if before is not None else None
    if latest is None:
        latest = _latest(reports)
    names = units.select("unit", "model", "serial").unique("unit", keep="last")
    frame = names.join(latest, on="unit", how="left").sort("unit")
    return LastReports(frame=frame, reports=reports, latest=latest)


def _latest(reports: pl.DataFrame) -> pl.DataFrame:
    return (
        reports.select("unit", "date", "kind", "date_latest", "date_earliest", "record")
        .sort("date_latest", "date_earliest", "record")
        .group_by("unit")
        .agg(pl.col("date", "kind").last())
    )


def _again(reports: pl.DataFrame, before: LastReports) -> pl.DataFrame | None:
    """The same, looking anew only at units of which reports came or went; None where many did."""
    if reports is before.reports:
        return before.latest
    one, two = (frame.select("unit", "record") for frame in (reports, before.reports))
    changed = pl.concat(
        [one.join(two, on="record", how="anti"), two.join(one, on="record", how="anti")]
    )["unit"].unique()
    if changed.len() > _FEW:
        return None
    theirs = pl.col("unit").is_in(changed.implode())
    return pl.concat([before.latest.filter(~theirs), _latest(reports.filter(theirs))])
