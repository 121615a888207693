"""Whether there is anything to hold against something else at all."""

import polars as pl

from fleet.flow.which_position import FEW, TOGETHER


def nothing_to_compare(lives: pl.DataFrame, positions: pl.DataFrame) -> str | None:
    """A sentence where no model has two named batches, no batch is in two models and no position
    can be compared; else None.

    `lives`: model, parts, batch (null: unknown). `positions`: rows of positions with a verdict.
    """
    named = lives.drop_nulls("batch").unique(["model", "parts", "batch"])
    several = (named.select(pl.struct(by).is_duplicated().any()).item() for by in _TOGETHER)
    if any(several) or not positions["verdict"].is_in([FEW, TOGETHER]).all():
        return None
    which = (
        "No batch is named"
        if named.is_empty()
        else "No model has two named batches with the same kind of parts, no batch is in two models"
    )
    return (
        f"{which}, and no position has failures enough to be compared: nothing can be suspected "
        "yet. Name the batch of each set, and the position when a failure or recap is logged."
    )


_TOGETHER = (["model", "parts"], ["batch", "parts"])
