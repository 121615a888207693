"""The records that count on an as-of date, units numbered."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from fleet.frames import check_frame, empty_frame, known_schema
from fleet.lives.runs import first_rows
from fleet.lives.whole_recaps import mark_whole

# Stands for "no earliest day": before any machine of ours. Clipped to the build date later.
OPEN = date(1600, 1, 1)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Known:
    """Records known on a date.

    `units`: one row for each row of the units table, with `idx` (the unit's number), `manu_e`,
    `manu_l` (build), `enr_e`, `enr_l` (enrolment), `made_by` (latest day by which it existed).
    `reports`: reports of known units with `idx`, day range `e` to `l`, `lkw` (last known working).
    """

    sources: pl.DataFrame
    models: pl.DataFrame
    batches: pl.DataFrame
    positions: pl.DataFrame
    units: pl.DataFrame
    reports: pl.DataFrame
    strangers: int  # reports of units that are not in the units table


def know(records: Mapping[str, pl.DataFrame], as_of: date) -> Known:
    """Check the frames and drop what was dated or entered after `as_of`; BadFrame if one is
    not as `known_schema` says.
    """
    frames = {k: _entered(records, k, as_of) for k in ("sources", "models", "batches", "positions")}
    units = _units(_entered(records, "units", as_of), as_of)
    raw = _reports(_entered(records, "reports", as_of), as_of)
    numbers = first_rows(units.select("unit", "idx"), "unit")
    reports = raw.join(numbers, on="unit", how="inner").drop("unit")
    reports = mark_whole(reports, units, frames["positions"])
    first = reports.group_by("idx").agg(
        made_by=pl.min_horizontal(pl.col("l").min(), pl.col("lkw_l").min())
    )
    units = units.join(first, on="idx", how="left", maintain_order="left").with_columns(
        made_by=pl.min_horizontal("made_by", "enr_l")
    )
    return Known(
        sources=_one_each(frames["sources"], "source"),
        models=frames["models"].sort("model", "record"),
        batches=_one_each(frames["batches"], "batch"),
        positions=frames["positions"],
        units=units,
        reports=reports,
        strangers=raw.height - reports.height,
    )


def _entered(records: Mapping[str, pl.DataFrame], kind: str, as_of: date) -> pl.DataFrame:
    schema = known_schema(kind)
    frame = records.get(kind)
    if frame is None:
        return empty_frame(schema)
    check_frame(frame, schema, name=kind)
    return frame.filter(pl.col("entered_on").is_null() | (pl.col("entered_on") <= as_of))


def _one_each(frame: pl.DataFrame, key: str) -> pl.DataFrame:
    return frame.sort(key, "record").unique(key, keep="first", maintain_order=True)


def _latest(name: str, as_of: date) -> pl.Expr:
    """Latest day of a date; open towards the future: it was written by `entered_on` at most."""
    return pl.coalesce(f"{name}_latest", pl.min_horizontal("entered_on", pl.lit(as_of)))


def _units(units: pl.DataFrame, as_of: date) -> pl.DataFrame:
    dated = pl.any_horizontal(
        pl.col("enrolled_on_earliest").is_not_null(), pl.col("enrolled_on_latest").is_not_null()
    )
    return (
        units.sort("unit", "record")
        .with_columns(
            idx=(pl.col("unit") != pl.col("unit").shift(1)).fill_null(True).cum_sum(),
            manu_e=pl.col("manufactured_earliest"),
            manu_l=pl.col("manufactured_latest"),
            enr_l=pl.when(dated).then(_latest("enrolled_on", as_of)),
        )
        .with_columns(
            pl.col("idx").cast(pl.Int64),
            enr_e=pl.coalesce("enrolled_on_earliest", "enr_l"),
        )
        # Rule 8: a unit enrolled later than as_of was not known then.
        .filter(pl.col("enr_l").is_null() | (pl.col("enr_l") <= as_of))
        .select(
            "idx", "record", "content", "source", "unit", "model", "batch", "manu_e", "manu_l",
            "enr_e", "enr_l", "enrolled_because", "hours_per_year", "ambient_c",
        )
    )  # fmt: skip


def _reports(reports: pl.DataFrame, as_of: date) -> pl.DataFrame:
    return (
        reports.with_columns(l=_latest("date", as_of))
        .filter(pl.col("l") <= as_of)
        .select(
            "record",
            "unit",
            "kind",
            pl.min_horizontal(pl.col("date_earliest").fill_null(OPEN), "l").alias("e"),
            "l",
            # Known to have worked some time in a range is known to have worked on its first day.
            pl.when(pl.col("last_known_working_earliest").is_not_null())
            .then(pl.min_horizontal("last_known_working_earliest", "l"))
            .alias("lkw"),
            pl.min_horizontal("last_known_working_latest", "l").alias("lkw_l"),
            pl.col("cause").fill_null("unknown"),
            "positions",
            "batch",
            "because",
            "symptom",
            "cured",
            pl.col("found_dead").fill_null(False).alias("dead"),
            pl.col("by").alias("said_by"),
            pl.col("source").alias("said_in"),
        )
    )
