"""Verdicts on batches of two days side by side."""

import polars as pl

from fleet.flow.changed_rows import rows_of

_OF = ("name", "model", "parts")
_UNHEARD = "not looked at"


def verdict_changes(then: pl.DataFrame, now: pl.DataFrame) -> pl.DataFrame:
    """CHANGED rows from two tables of suspects (flow.suspects.SUSPECTS); the later order.

    A batch heard of for the first time is told of only where its verdict says something.
    """
    before, after = (
        frame.filter(level="batch").select(*_OF, "verdict", "failures") for frame in (then, now)
    )
    both = after.join(
        before, on=_OF, how="left", suffix="_then", nulls_equal=True, maintain_order="left"
    )
    new = pl.col("verdict_then").is_null()
    telling = pl.col("verdict").is_in(["shorter life", "longer life"])
    moved = both.filter((pl.col("verdict") != pl.col("verdict_then")) | (new & telling))
    counts = pl.format(
        "{} failures now, {} then",
        _count("failures"),
        _count("failures_then").fill_null("none"),
    )
    rows = moved.with_columns(
        before=pl.col("verdict_then").fill_null(_UNHEARD), after="verdict"
    ).with_columns(
        sentence=pl.format(
            "{} of {} ({} parts): {}; it was: {}; {}",
            "name", pl.col("model").fill_null("no model"), pl.col("parts").fill_null("any"),
            "after", "before", counts,
        )
    )  # fmt: skip
    return rows_of(rows, "other_verdict")


def _count(column: str) -> pl.Expr:
    """Failures as counted: whole where they are, else with one figure (shared causes)."""
    rounded = pl.col(column).round(1)
    whole = rounded.cast(pl.Int64).cast(pl.String)
    return pl.when(rounded == rounded.round(0)).then(whole).otherwise(rounded.cast(pl.String))
