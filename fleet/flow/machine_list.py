"""The history of a machine as a list to read: what is told again and again stands once."""

import polars as pl

from fleet.flow.machine_told import COUNTS

LINES = pl.Schema(
    {
        "when": pl.String(),
        "what": pl.String(),
        "said": pl.String(),
        "notes": pl.String(),
        "standing": pl.String(),
        "changed": pl.String(),
        "by": pl.String(),
        "events": pl.Int64(),  # how many it stands for
    }
)


def history_lines(events: pl.DataFrame) -> pl.DataFrame:
    """LINES of a history (machine_told.EVENTS), in its order.

    Reports of a working machine that say nothing else are one line for as long as nothing else
    was told between them.
    """
    plain = (
        (pl.col("what") == "working")
        & (pl.col("said").fill_null("") == "")
        & pl.col("notes").is_null()
        & pl.col("changed").is_null()
        & (pl.col("standing") == COUNTS)
    )
    row = pl.int_range(pl.len(), dtype=pl.Int64)
    return (
        events.with_columns(plain=plain)
        .with_columns(run=pl.when(~pl.col("plain")).then(row).fill_null(strategy="forward"))
        .with_columns(run=pl.struct("run", "plain").rle_id())
        .group_by("run", maintain_order=True)
        .agg(
            pl.col("on").first().alias("first"),
            pl.col("on").last().alias("last"),
            pl.col("what", "said", "notes", "standing", "changed").first(),
            pl.col("by").drop_nulls().unique(maintain_order=True).str.join(", "),
            pl.len().cast(pl.Int64).alias("events"),
        )
        .with_columns(
            when=pl.when(pl.col("events") > 1)
            .then(pl.format("{} to {}", "first", "last"))
            .otherwise("first"),
            by=pl.col("by").replace("", None),
        )
        .select(pl.col(name).cast(dtype) for name, dtype in LINES.items())
    )
