"""How a change is written: one row, what it is, before, after, and a sentence."""

from collections.abc import Mapping

import polars as pl

CHANGED = pl.Schema(
    {
        "what": pl.String(),  # a key of WHAT
        "name": pl.String(),  # the unit, or the batch
        "model": pl.String(),
        "on": pl.String(),  # the day told, as written in the report; null for answers
        "before": pl.String(),
        "after": pl.String(),
        "sentence": pl.String(),
    }
)

# Kinds of change in the order they are told, each with its words for one and for several.
WHAT: Mapping[str, tuple[str, str]] = {
    "new_report": ("new report", "new reports"),
    "corrected_report": ("corrected report", "corrected reports"),
    "withdrawn_report": ("report taken back", "reports taken back"),
    "became_due": ("machine became due", "machines became due"),
    "no_longer_due": ("machine is no longer due", "machines are no longer due"),
    "left_list": ("machine left the list", "machines left the list"),
    "joined_list": ("machine joined the list", "machines joined the list"),
    "other_advice": ("machine has another advice", "machines have another advice"),
    "other_verdict": ("batch has another verdict", "batches have another verdict"),
}


def rows_of(frame: pl.DataFrame, what: str | pl.Expr) -> pl.DataFrame:
    """`frame` as CHANGED; columns it lacks are null."""
    kind = pl.lit(what) if isinstance(what, str) else what
    lacking = [
        pl.lit(None, dtype=dtype).alias(name)
        for name, dtype in CHANGED.items()
        if name not in frame.columns and name != "what"
    ]
    return frame.with_columns(kind.alias("what"), *lacking).select(CHANGED.names())
