"""Positions among the suspects, and how much of the variation lies between them."""

from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from fleet.flow.table import Settings
from fleet.flow.which_position import position_rows, which_position

_CHANCE = np.pi**2 / 6.0  # variance of the log of a Weibull life of shape 1


def positions_for(
    store: Path, *, as_of: date, level: float, settings: Settings | None
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Rows of positions of original boards (flow.which_position.position_rows), and what must be
    said with them.
    """
    answer = which_position(store, as_of=as_of, level=level, settings=settings)
    # the list has no choice of parts
    notes = tuple(note.removesuffix("; ask for them by parts to see them") for note in answer.notes)
    return position_rows(answer.frame), notes


def shares_by_position(positions: pl.DataFrame) -> pl.DataFrame:
    """How much of the variation of the lives of single capacitors of one batch lies between
    positions: model, parts, share, of models with three failures in two positions or more.

    Variance of log effects over positions, weighed by failures, less what chance alone makes of
    it (positions / failures in log share, over shape^2), beside ``pi^2 / 6 / shape^2`` within a
    position. Rough: no limits.
    """
    told = positions.filter(
        pl.col("effect").is_not_null() & (pl.col("failures") > 0.0) & pl.col("shape").is_not_null()
    )
    weight = pl.col("failures") / pl.col("failures").sum()
    log, square = pl.col("effect").log(), pl.col("shape") ** 2
    spread = (weight * log**2).sum() - (weight * log).sum() ** 2
    noise = (pl.len() / pl.col("failures").sum() / square).mean()
    found = (spread - noise).clip(lower_bound=0.0)
    models = told.group_by("model", "parts").agg(
        (found / (found + (_CHANCE / square).mean())).alias("share"),
        (pl.col("failures") >= 3.0).sum().alias("known"),
    )
    return models.filter(pl.col("known") >= 2).drop("known").sort("model", "parts")
