"""How often a failure puts a machine beyond repair: it is retired, not mended.

METHODS: beyond-repair
"""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

# One machine in ten, as heavy as five failures: ours, no source.
PRIOR_CHANCE, PRIOR_WEIGHT = 0.10, 5.0
_LATEST_DAYS = 730  # a machine retired later than this after a failure was retired for itself


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondRepair:
    """The chance, of how many failures whose end is known, and how many of them ended it."""

    chance: float
    failures: int
    ended: int


def beyond_repair(records: Mapping[str, pl.DataFrame], model: str) -> BeyondRepair:
    """(lost + prior) / (all + weight) over failures of the model by its capacitors or unknown.

    A failure counts where the next that is told of the machine is a recap, a repair, a swapped
    board, or that it works again: mended; or that it was retired: lost. People retire machines
    for more reasons than damage, so the chance is rather high than low.
    """
    units = records["units"].filter(pl.col("model") == model).select("unit").unique()
    told = (
        records["reports"]
        .join(units, on="unit")
        .with_columns(day=pl.coalesce("date_latest", "date_earliest"))
        .filter(pl.col("kind").is_in(_TOLD))
        .with_columns(order=pl.col("kind").replace_strict(_TOLD, return_dtype=pl.Int8))
        .sort("unit", "day", "order")
        .with_columns(
            then=pl.col("kind").shift(-1).over("unit"), when=pl.col("day").shift(-1).over("unit")
        )
    )
    failed = told.filter(
        (pl.col("kind") == "failed")
        & (pl.col("cause").fill_null("unknown") != "other")
        & pl.col("then").is_not_null()
        & (pl.col("then") != "failed")
    )
    soon = (pl.col("when") - pl.col("day")).dt.total_days() <= _LATEST_DAYS
    lost = failed.filter((pl.col("then") == "retired") & soon).height
    every = failed.filter((pl.col("then") != "retired") | soon).height
    chance = (lost + PRIOR_CHANCE * PRIOR_WEIGHT) / (every + PRIOR_WEIGHT)
    return BeyondRepair(chance=chance, failures=every, ended=lost)


# Kinds that say how a failure ended, in the order in which one day's reports are read.
_TOLD = {"failed": 0, "repaired": 1, "recapped": 2, "board_swapped": 3, "working": 4, "retired": 5}
