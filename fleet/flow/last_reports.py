"""Each machine with the last thing told of it, brought up to date by the reports that came."""

from dataclasses import dataclass

import polars as pl

_FEW = 500  # machines with other reports than before that are looked at by themselves


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LastReports:
    """`frame`: unit, model, serial, date, kind (null: no report); with what it was made of."""

    frame: pl.DataFrame
    reports: pl.DataFrame
    units: pl.DataFrame


def last_reports(
    reports: pl.DataFrame, units: pl.DataFrame, before: LastReports | None = None
) -> LastReports:
    """The latest report of each unit; known frames. `before`: what this gave of earlier records."""
    frame = _again(reports, before) if before is not None and before.units is units else None
    if frame is None:
        names = units.select("unit", "model", "serial").unique("unit", keep="last")
        frame = names.join(_latest(reports), on="unit", how="left").sort("unit")
    return LastReports(frame=frame, reports=reports, units=units)


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
        return before.frame
    one, two = _where_they_differ(reports, before.reports)
    changed = pl.concat(
        [one.join(two, on="record", how="anti"), two.join(one, on="record", how="anti")]
    )["unit"].unique()
    if changed.len() > _FEW:
        return None
    theirs = pl.col("unit").is_in(changed.implode())
    places = before.frame.select(theirs.arg_true()).to_series()
    new = (
        before.frame[places]
        .select("unit")
        .join(_latest(reports.filter(theirs)), on="unit", how="left", maintain_order="left")
    )
    return before.frame.with_columns(
        before.frame[column].scatter(places, new[column]) for column in ("date", "kind")
    )


def _where_they_differ(one: pl.DataFrame, two: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Unit and record of two frames without the rows that both begin and end with: of frames that
    are sorted alike, next to nothing.
    """
    first, second = one["record"], two["record"]
    shorter = min(first.len(), second.len())
    differ = (first.head(shorter) != second.head(shorter)).arg_true()
    top = int(differ[0]) if differ.len() else shorter
    rest = shorter - top
    differ = (first.tail(rest) != second.tail(rest)).arg_true()
    bottom = rest - 1 - int(differ[-1]) if differ.len() else rest
    return (
        one.select("unit", "record").slice(top, one.height - top - bottom),
        two.select("unit", "record").slice(top, two.height - top - bottom),
    )
