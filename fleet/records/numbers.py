"""Numbers as text that is the same on every machine: shortest digits that read back the same."""

import polars as pl


def number_text(values: pl.Series) -> pl.Series:
    """Text of Float64 values: 1000, 0.5, 1e+16; null stays null, NaN and infinity by name."""
    unique = values.drop_nulls().unique()
    # Python's repr is the shortest text that reads back exactly, by its language reference.
    texts = [repr(value).removesuffix(".0") for value in unique.to_list()]
    if not texts:
        return pl.Series(values.name, [None] * len(values), dtype=pl.String)
    return values.replace_strict(unique, pl.Series(texts), default=None, return_dtype=pl.String)
