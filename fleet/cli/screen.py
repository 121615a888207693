"""Columns in the words of the screen: chances in per cent, limits in one cell, units in heads."""

import polars as pl


def percent(column: str, *, name: str | None = None) -> pl.Expr:
    """A probability as per cent: 12 %, <0.1 %, >99.9 %; empty for unknown."""
    value = pl.col(column) * 100
    return (
        pl.when(pl.col(column).is_null())
        .then(None)
        .when(value < 0.1)
        .then(pl.when(value == 0).then(pl.lit("0 %")).otherwise(pl.lit("<0.1 %")))
        .when((value > 99.9) & (value < 100))
        .then(pl.lit(">99.9 %"))
        .otherwise(pl.format("{} %", short(value)))
        .alias(name or column)
    )


def percent_between(low: str, high: str, *, name: str) -> pl.Expr:
    """Two probabilities as `12 to 34 %`; empty where both are unknown."""
    return _between(short(pl.col(low) * 100), short(pl.col(high) * 100), after=" %").alias(name)


def with_limits(column: str, *, name: str | None = None) -> pl.Expr:
    """`3.1 (2.2 to 4.1)` from a column and its _low and _high; a side without a limit is said."""
    limits = _between(short(pl.col(f"{column}_low")), short(pl.col(f"{column}_high")))
    value = short(pl.col(column))
    return (
        pl.when(value.is_null())
        .then(limits)
        .when(limits.is_null())
        .then(value)
        .otherwise(pl.format("{} ({})", value, limits))
        .alias(name or column)
    )


def one_batch() -> pl.Expr:
    """The batch, or `by position` where a list says which position has parts of which batch."""
    listed = pl.col("batch").str.contains(":", literal=True)
    return pl.when(listed).then(pl.lit("by position")).otherwise("batch").alias("batch")


def short(value: pl.Expr) -> pl.Expr:
    """A number as text with three significant figures; whole from a hundred on."""
    few = value.round_sig_figs(3).cast(pl.String).str.replace(r"\.0$", "")
    whole = value.round(0).cast(pl.Int64, strict=False).cast(pl.String)
    few = pl.when((value > 0) & (value < 0.001)).then(pl.lit("<0.001")).otherwise(few)
    return pl.when((value.abs() >= 100) & (value.abs() < 1e15)).then(whole).otherwise(few)


def _between(low: pl.Expr, high: pl.Expr, *, after: str = "") -> pl.Expr:
    return (
        pl.when(low.is_not_null() & high.is_not_null())
        .then(pl.format("{} to {}" + after, low, high))
        .when(low.is_not_null())
        .then(pl.format("from {}" + after, low))
        .when(high.is_not_null())
        .then(pl.format("up to {}" + after, high))
        .otherwise(pl.lit(None, dtype=pl.String))
    )
