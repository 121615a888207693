"""How a batch's failures lie: close together in age, as its model's do, or on the calendar."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.suspects_judge import SHORTER, UNLIKELY

_BY = ["model", "parts", "batch"]
_SHAPES = ("shape", "shape_low", "shape_high")
_ENOUGH = 5.0  # failures from which a batch's own shape is given; our own rule


def add_patterns(
    batches: pl.DataFrame, lives: pl.DataFrame, dated: pl.DataFrame | None
) -> pl.DataFrame:
    """Adds shape, shape_low, shape_high (of the batch alone, 95 % limits) and `pattern`."""
    shaped = batches.join(_own_shapes(batches, lives), on=_BY, how="left", maintain_order="left")
    crowds = _crowds(dated)
    patterns = [_pattern(row, lives, crowds) for row in shaped.iter_rows(named=True)]
    return shaped.with_columns(pattern=pl.Series(patterns, dtype=pl.String))


def _own_shapes(batches: pl.DataFrame, lives: pl.DataFrame) -> pl.DataFrame:
    from fleet.fits import fit_weibull

    enough = batches.filter(pl.col("failures") >= _ENOUGH).select(_BY)
    own = lives.join(enough, on=_BY)
    if own.is_empty():
        return enough.with_columns(pl.lit(None, pl.Float64).alias(name) for name in _SHAPES)
    return fit_weibull(own, by=_BY).select(*_BY, *_SHAPES)


def _crowds(dated: pl.DataFrame | None) -> dict[tuple[str, ...], dict[str, Any]]:
    """What close_in_date finds for each batch, its p-value adjusted for all batches looked at."""
    from fleet.fits.suspects.close_in_date import close_in_date

    if dated is None or dated.is_empty():
        return {}
    named = dated.filter(pl.col("batch").is_not_null())
    found = close_in_date(named, _BY) if named.height else None
    if found is None:
        return {}
    many = found["p_value"].drop_nulls().len()
    found = found.with_columns((pl.col("p_value") * many).alias("p_value"))
    return {tuple(row[c] for c in _BY): row for row in found.iter_rows(named=True)}


def _pattern(
    row: Mapping[str, Any], lives: pl.DataFrame, crowds: Mapping[tuple[str, ...], Mapping[str, Any]]
) -> str | None:
    said = []
    crowd = crowds.get(tuple(row[c] for c in _BY))
    if crowd is not None and crowd["p_value"] is not None and crowd["p_value"] <= UNLIKELY:
        said.append(
            f"{crowd['together']} of {crowd['dated']} failures with a date known well fell within "
            "three months, whatever their age: look for something that happened there then"
        )
    if row["verdict"] == SHORTER and row["shape"] is not None:
        said.append(_in_age(row, lives))
    return "; ".join(said) or None


def _in_age(row: Mapping[str, Any], lives: pl.DataFrame) -> str:
    from fleet.fits.suspects.same_ageing import same_ageing

    family = lives.filter(model=row["model"], parts=row["parts"]).filter(
        pl.col("batch").is_not_null()
    )
    p, times = same_ageing(family, pl.col("batch") == row["batch"])
    if row["shape_low"] is None or row["shape_low"] <= 1.0:
        return "whether its failures come with age is open"
    spread = f"shape {row['shape']:.2g}"
    if p is not None and times is not None and p <= UNLIKELY:
        closer = "closer together in age" if times > 1.0 else "more spread over age"
        return (
            f"its failures lie {closer} than those of the other batches ({spread}, "
            f"{times:.2g} times theirs): another fault than theirs"
        )
    middle = _middle_age(family, row["batch"])
    where = "" if middle is None else f", around {middle / DAYS_PER_YEAR:.0f} years"
    return f"its failures come with age as the others' do, only sooner ({spread}{where})"


def _middle_age(family: pl.DataFrame, batch: str) -> float | None:
    failed = family.filter((pl.col("batch") == batch) & pl.col("high").is_not_null())
    age = failed.select(((pl.col("low") + pl.col("high")) / 2.0).median()).item()
    return None if age is None else float(age)
