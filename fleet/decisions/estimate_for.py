"""Which estimate serves which unit: its own batch's where that rests on enough failures, else
its model's. Original and replaced parts are never pooled; lending one for the other is flagged.
"""

import polars as pl

from fleet.decisions.say import count_said
from fleet.errors import BadFrame

_KEY = ["model", "batch", "parts"]

# Which estimate a set of parts asks for. A partly renewed set is mixed, and always unsupported.
_WANTED = {
    "original": "original",
    "replaced_known": "replaced",
    "replaced_unknown": "replaced",
    "partial": "replaced",
}

# A fit of fewer failures exists, but its chances are all but arbitrary: our choice, no source.
FEWEST_FAILURES = 3.0


def numbered(estimates: pl.DataFrame) -> pl.DataFrame:
    """The estimates with a row number, column estimate (UInt32).

    Raises BadFrame when two rows speak for the same model, batch and parts.
    """
    twice = estimates.filter(estimates.select(_KEY).is_duplicated())
    if not twice.is_empty():
        raise BadFrame(
            f"two estimates for model {twice['model'][0]} share batch and parts; keep one of them"
        )
    return estimates.with_row_index("estimate")


def estimate_for(
    working: pl.DataFrame, estimates: pl.DataFrame, *, min_batch_failures: float
) -> pl.DataFrame:
    """One row per working unit, in its order: which row of `estimates` (numbered) serves it.

    Columns: estimate (null: none), borrowed (original parts' estimate stands in for replaced
    parts), why_none (the fit's own reason where it found no estimate, else null).
    A batch counts with at least `min_batch_failures` failures, a model with FEWEST_FAILURES.
    """
    asked = working.select(
        "model",
        "batch",
        pl.col("parts").replace_strict(_WANTED, default="original").alias("parts"),
    )
    enough = pl.col("failures") >= FEWEST_FAILURES
    fitted = pl.col("exists").fill_null(False) & pl.col("shape").is_not_null() & enough
    usable = estimates.filter(fitted & pl.col("scale").is_not_null())
    by_batch = usable.filter(
        pl.col("batch").is_not_null() & (pl.col("failures") >= min_batch_failures)
    ).select(*_KEY, own_batch="estimate")
    whole = pl.col("batch").is_null()
    by_model = usable.filter(whole).select("model", "parts", own_model="estimate")
    lent = usable.filter(whole & (pl.col("parts") == "original")).select("model", lent="estimate")
    few = pl.format(
        "failures so far: {}; three are needed to plan on", count_said(pl.col("failures"))
    )
    # The reason of a fit that exists is about its limits, not about why it serves nobody.
    there = pl.col("exists").fill_null(False) & ~enough
    reason = pl.when(there).then(few).otherwise("reason")
    why = estimates.filter(whole & ~fitted).select("model", "parts", reason.alias("why_none"))
    return (
        asked.join(by_batch, on=_KEY, how="left", maintain_order="left")
        .join(by_model, on=["model", "parts"], how="left", maintain_order="left")
        .join(lent, on="model", how="left", maintain_order="left")
        .join(why, on=["model", "parts"], how="left", maintain_order="left")
        .select(
            pl.coalesce("own_batch", "own_model", "lent").alias("estimate"),
            (pl.coalesce("own_batch", "own_model").is_null() & pl.col("lent").is_not_null()).alias(
                "borrowed"
            ),
            "why_none",
        )
    )


def overall_for(estimates: pl.DataFrame) -> pl.DataFrame:
    """For each estimate (numbered), the one of its model as a whole that a typical batch follows.

    Columns: estimate, overall. The same parts' where it exists, else original parts', else the
    estimate itself.
    """
    usable = estimates.filter(
        pl.col("exists").fill_null(False)
        & pl.col("shape").is_not_null()
        & pl.col("scale").is_not_null()
        & pl.col("batch").is_null()
    )
    same = usable.select("model", "parts", same="estimate")
    original = usable.filter(pl.col("parts") == "original").select("model", original="estimate")
    return (
        estimates.select("estimate", "model", "parts")
        .join(same, on=["model", "parts"], how="left", maintain_order="left")
        .join(original, on="model", how="left", maintain_order="left")
        .select("estimate", pl.coalesce("same", "original", "estimate").alias("overall"))
    )
