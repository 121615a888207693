"""What a planned recap and a failure cost."""

import math
from dataclasses import dataclass

import polars as pl

from fleet.errors import BadFrame, BadInput

_COLUMNS = ("planned_cost", "failure_cost")


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """Costs of one model, in one currency.

    `planned` is all that a recap before failure costs; `failure` all that a failure costs, the
    recap after it included. Raises BadInput unless both are numbers above zero.
    """

    planned: float
    failure: float
    currency: str = ""

    def __post_init__(self) -> None:
        for name in ("planned", "failure"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise BadInput(f"the {name} cost is {value}; it should be a number above zero")


def check_costs(costs: pl.DataFrame) -> pl.DataFrame:
    """Columns model, planned_cost, failure_cost (Float64) of a table of costs, one row per model.

    A cost that is null, or not above zero, is unknown and comes back null. Raises BadFrame for a
    missing column or a model with two rows.
    """
    for column in ("model", *_COLUMNS):
        if column not in costs.columns:
            raise BadFrame(f"the costs table has no column {column}; add it, empty where unknown")
    usable = [
        pl.when(pl.col(c).cast(pl.Float64).is_finite() & (pl.col(c).cast(pl.Float64) > 0)).then(
            pl.col(c).cast(pl.Float64)
        )
        for c in _COLUMNS
    ]
    out = costs.select("model", *usable)
    twice = out.filter(pl.col("model").is_duplicated())
    if not twice.is_empty():
        raise BadFrame(f"the costs table has two rows for model {twice['model'][0]}; leave one")
    return out
