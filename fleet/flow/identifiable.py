"""Groups of nothing but failures: what they can tell, and that it is not a life distribution.

A machine known only because it failed counts only against the others that could have been
reported in the same window. Where nobody said since when failures are collected, and no machine
that still works is known, any life from short to endless explains the same reports.
"""

from collections.abc import Sequence

import polars as pl

from fleet.flow.table import Table


def set_apart(
    lives: pl.DataFrame, table: Table, groups: Sequence[str]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Lives of groups a fit can be asked of, and lives of groups that hold failures alone."""
    if not table.from_store or lives.is_empty():
        return lives, lives.clear()
    # A life watched for no time at all (entry = low, still good) says nothing about survival.
    watched = pl.col("high").is_not_null() | (pl.col("low") > pl.col("entry"))
    ordinary = pl.col("known_by").is_null() & watched
    unknown_since = pl.col("source").is_null() | pl.col("source").is_in(list(table.open_sources))
    failed = pl.col("known_by").is_not_null()
    alone = ordinary.any().not_() & unknown_since.all() & failed.any()
    marked = lives.with_columns((alone.over(list(groups)) if groups else alone).alias("_alone"))
    return (
        marked.filter(~pl.col("_alone")).drop("_alone"),
        marked.filter("_alone").drop("_alone"),
    )


def what_failures_alone_tell(apart: pl.DataFrame, groups: Sequence[str]) -> tuple[str, ...]:
    """Sentences for groups set apart: what their ages say, and what would make them useful."""
    if apart.is_empty():
        return ()
    count = apart["count"].sum()
    names = 1 if not groups else apart.select(groups).unique().height
    whose = "one group" if names == 1 else f"{names} groups"
    return (
        f"{whose} hold failures alone ({count:.0f} of them, as weighed by cause): no machine that "
        "still works is known and nobody said since when failures were collected.",
        "Such reports can tell which models come in, with what fault and at what age they were "
        "brought; they cannot tell how long the machines last, so no curve or life is given.",
        "To make them useful: say since when failures are collected (sources.csv, "
        "collecting_since), and report machines of the same models that still work.",
    )
