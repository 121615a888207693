"""What a curve that takes all batches of a model together may hide, in sentences."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from fleet.flow.read_aloud import number
from fleet.flow.suspects_judge import BATCH, DESIGN, NEITHER

_DIFFER = f": {BATCH}"  # how the verdict on a model ends where its batches differ


def batches_together(lives: pl.DataFrame, *, by: Sequence[str]) -> pl.DataFrame:
    """`by` columns and `batches`: how many named batches each group takes together, if several.

    Empty where batches are kept apart.
    """
    if "batch" in by:
        return lives.select(by).clear().with_columns(batches=pl.lit(0))
    named = pl.col("batch").drop_nulls()  # with colons: a set of several, one for each position
    counted = named.filter(~named.str.contains(":", literal=True)).n_unique().alias("batches")
    each = lives.group_by(by, maintain_order=True).agg(counted) if by else lives.select(counted)
    return each.filter(pl.col("batches") > 1)


def together_words(
    batches: int, fit: Mapping[str, Any], verdict: Mapping[str, Any] | None = None
) -> str:
    """What to say beside one fit (a row of frames.FIT) of so many batches together, or "".

    `verdict`: the row of flow.suspects.SUSPECTS on the same model and parts, where it is known.
    One Weibull of batches that live apart is flatter than each of theirs, so that a fit which
    leaves open whether age matters does not say so of any of them.
    """
    if not fit["exists"] or (fit["shape_low"] is not None and fit["shape_low"] > 1.0):
        return ""
    if verdict is not None and verdict["verdict"] in (DESIGN, NEITHER):
        return ""
    if verdict is None or not str(verdict["verdict"]).endswith(_DIFFER):
        return f"{batches} batches are counted together here, which can hide that each wears out."
    if verdict["shape_low"] is None or verdict["shape_low"] <= 1.0:
        return "Its batches differ, so that one curve is right for none of them: take them apart."
    shape, low, high = (number(verdict[c]) for c in ("shape", "shape_low", "shape_high"))
    return (
        "But its batches differ, and together they hide that each wears out: batch by batch the "
        f"shape is {shape} ({low} to {high}). Go by the batch."
    )
