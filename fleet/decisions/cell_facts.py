"""What the words of the due list rest on: counts of lives, and the shape with its limits.

METHODS: actions
"""

import polars as pl

from fleet.decisions.drawn_lives import DrawnLives, quantiles
from fleet.decisions.estimate_for import FEWEST_FAILURES

_TAIL = 0.05


def with_facts(units: pl.DataFrame, cells: pl.DataFrame, lives: DrawnLives) -> pl.DataFrame:
    """Adds what the words rest on: counts of the model's parts, shape with its limits."""
    whole = cells.filter("to_come")
    low, high = quantiles(lives.shape, lives.weight, (_TAIL, 1.0 - _TAIL))
    facts = pl.DataFrame(
        {
            "cell": cells["cell"],
            "shape": (lives.weight * lives.shape).sum(axis=1),
            "shape_low": low,
            "shape_high": high,
        }
    ).join(
        cells.select(
            "cell",
            "model",
            "parts",
            of_parts="parts",
            by_kind="borrowed",
            of_batch="batch",
            batch_failures="failures",
        ),
        on="cell",
    )
    counts = whole.select(
        "model",
        "parts",
        "failures",
        "lives",
        pl.col("oldest_age").fill_null(0.0),
        of_model=pl.col("failures").sum().over("model"),
    )
    joined = facts.join(counts, on=["model", "parts"], how="left").drop("model", "parts")
    # a partly renewed set is judged by its oldest parts
    placed = units.with_columns(_judged=pl.coalesce("old_cell", "cell")).join(
        cells.select("cell", "to_come"), on="cell", how="left", maintain_order="left"
    )
    return placed.join(
        joined, left_on="_judged", right_on="cell", how="left", maintain_order="left"
    ).with_columns(
        why_none=pl.lit(None, pl.String),
        borrowed=pl.lit(value=False),
        too_few=pl.col("failures") < FEWEST_FAILURES,
        unplanned=(pl.col("of_model") < FEWEST_FAILURES) & ~pl.col("by_kind"),
    )
