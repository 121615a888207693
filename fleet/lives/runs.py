"""First and last rows of runs: quicker than grouping where rows are in order already."""

import polars as pl


def first_rows(frame: pl.DataFrame, key: str) -> pl.DataFrame:
    """The first row of each run of equal `key`; all rows of a key must stand together."""
    return frame.filter((pl.col(key) != pl.col(key).shift(1)).fill_null(True))


def last_rows(frame: pl.DataFrame, key: str) -> pl.DataFrame:
    """The last row of each run of equal `key`; all rows of a key must stand together."""
    return frame.filter((pl.col(key) != pl.col(key).shift(-1)).fill_null(True))
