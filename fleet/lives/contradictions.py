"""Records that disagree: which two, and about what. Their units have no lives until amended."""

from collections.abc import Sequence

import polars as pl

from fleet.lives.build_dates import made_after
from fleet.lives.runs import first_rows

REPLACING = ("recapped", "board_swapped")
_NOT_WHEN_RETIRED = ("working", "failed", "repaired", *REPLACING)


def find_contradictions(
    units: pl.DataFrame, reports: pl.DataFrame, batches: pl.DataFrame
) -> pl.DataFrame:
    """Disagreements of the records of a unit: idx, unit, reason, reports (ids joined by ;).

    `units` is what `narrow_builds` gives. Days given as ranges disagree only if no day within
    the ranges would do.
    """
    one = first_rows(units, "idx")
    names = one.select("idx", "unit", "batch_record", "model_record", unit_record="record")
    told = reports.join(one.select("idx", "manu_e", "batch_e", "first_made"), on="idx")
    found = [
        _two_units(units),
        *_impossible_builds(one),
        *_before_built(told, names),
        _after_retired(told, names),
        *_same_day(told, names),
        _fitted_before_made(told, batches, names),
    ]
    return pl.concat(found).unique().sort("idx", "reason", "reports")


def _say(frame: pl.DataFrame, text: str, ids: Sequence[str], *fields: str) -> pl.DataFrame:
    """Rows of `frame` as disagreements; `text` has a place for each of `fields` (or of `ids`)."""
    return frame.select(
        "idx",
        "unit",
        pl.format(text, *(fields or ids)).alias("reason"),
        pl.concat_str(*ids, separator=";").alias("reports"),
    )


def _other_record(column: str) -> pl.Expr:
    """The first record that says something else in `column` than the first record."""
    return pl.col("record").filter(pl.col(column) != pl.col(column).first()).first()


def _two_units(units: pl.DataFrame) -> pl.DataFrame:
    idx = pl.col("idx")
    several = (
        units.filter(((idx == idx.shift(1)) | (idx == idx.shift(-1))).fill_null(False))
        .group_by("idx", maintain_order=True)
        .agg(
            pl.col("unit").first(),
            first=pl.col("record").first(),
            second=_other_record("content"),
            contents=pl.col("content").n_unique(),
        )
        .filter(pl.col("contents") > 1)
    )
    text = "records {} and {} describe the same unit differently; amend or take back one of them"
    return _say(several, text, ("first", "second"))


def _impossible_builds(one: pl.DataFrame) -> list[pl.DataFrame]:
    manu_e, manu_l, batch_e = pl.col("manu_e"), pl.col("manu_l"), pl.col("batch_e")
    first_made, last_made = pl.col("first_made"), pl.col("last_made")
    batch, model = ("record", "batch_record"), ("record", "model_record")
    cases = (
        (
            batch_e > manu_l,
            "unit record {} says it was built before batch record {} says its parts were made",
            batch,
        ),
        (
            batch_e > pl.col("enr_l"),
            "unit record {} enrols it before batch record {} says its parts were made",
            batch,
        ),
        (
            first_made > manu_l,
            "unit record {} says it was built before model record {} says the first was made",
            model,
        ),
        (
            first_made > pl.col("enr_l"),
            "unit record {} enrols it before model record {} says the first was made",
            model,
        ),
        (
            last_made < manu_e,
            "unit record {} says it was built after model record {} says the last was made",
            model,
        ),
        (
            batch_e > last_made,
            "batch record {} says the parts were made after model record {} says the last "
            "machine was made",
            ("batch_record", "model_record"),
        ),
        (
            first_made > last_made,
            "model record {} says the last was made before the first",
            ("model_record",),
        ),
        (pl.col("enr_l") < manu_e, "unit record {} enrols it before it was built", ("record",)),
    )
    return [_say(one.filter(wrong), text, ids) for wrong, text, ids in cases]


def _first_each(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.sort("idx", "l", "record").unique("idx", keep="first", maintain_order=True)


def _before_built(told: pl.DataFrame, names: pl.DataFrame) -> list[pl.DataFrame]:
    cases = (
        ("manu_e", "unit_record", "unit record {} says it was built"),
        ("batch_e", "batch_record", "batch record {} says its parts were made"),
        ("first_made", "model_record", "model record {} says the first was made"),
    )
    return [
        _say(
            _first_each(told.filter(pl.min_horizontal("l", "lkw_l") < pl.col(bound))).join(
                names, on="idx"
            ),
            "report {} ({}) speaks of a day before " + text,
            ("record", other),
            "record",
            "kind",
            other,
        )
        for bound, other, text in cases
    ]


def _after_retired(told: pl.DataFrame, names: pl.DataFrame) -> pl.DataFrame:
    retired = _first_each(told.filter(pl.col("kind") == "retired")).select(
        "idx", retired_l="l", retired_record="record"
    )
    runs = pl.col("kind").is_in(_NOT_WHEN_RETIRED)
    later = told.join(retired, on="idx").filter(
        (runs & (pl.col("e") > pl.col("retired_l"))) | (pl.col("lkw") > pl.col("retired_l"))
    )
    return _say(
        _first_each(later).join(names, on="idx"),
        "report {} says it was retired, report {} ({}) is later",
        ("retired_record", "record"),
        "retired_record",
        "record",
        "kind",
    )


def _same_day(told: pl.DataFrame, names: pl.DataFrame) -> list[pl.DataFrame]:
    """Two reports of one event (same unit, kind and date) that cannot both be true."""
    known_cause = told.filter((pl.col("kind") == "failed") & (pl.col("cause") != "unknown"))
    fitted = told.filter(pl.col("kind").is_in(REPLACING) & pl.col("whole"))
    why = told.filter(pl.col("kind") == "recapped")
    return [
        _differ(names, known_cause, "cause", "give one failure different causes"),
        _differ(names, fitted, "batch", "give different batches for the parts fitted on one day"),
        _differ(names, why, "because", "give different reasons for one recap"),
    ]


def _differ(names: pl.DataFrame, frame: pl.DataFrame, column: str, text: str) -> pl.DataFrame:
    told = frame.filter(pl.col(column).is_not_null())
    sides = (
        told.group_by("idx", "e", "l")
        .agg(pl.col(column).n_unique().alias("values"))
        .filter(pl.col("values") > 1)
        .join(told, on=["idx", "e", "l"])
        .sort("idx", "e", "l", "record")
        .group_by("idx", "e", "l", maintain_order=True)
        .agg(first=pl.col("record").first(), second=_other_record(column))
        .join(names, on="idx")
    )
    return _say(sides, "reports {} and {} " + text, ("first", "second"))


def _fitted_before_made(
    told: pl.DataFrame, batches: pl.DataFrame, names: pl.DataFrame
) -> pl.DataFrame:
    fitted = told.filter(pl.col("kind").is_in(REPLACING) & pl.col("batch").is_not_null())
    wrong = (
        fitted.drop("batch_e")
        .join(made_after(fitted["batch"], batches), left_on="batch", right_on="text")
        .filter(pl.col("l") < pl.col("batch_e"))
        .join(names.select("idx", "unit"), on="idx")
    )
    return _say(
        wrong,
        "report {} fits parts before batch record {} says they were made",
        ("record", "batch_record"),
    )
