"""Who did what, when and through what: every write of the store in words."""

from datetime import date
from pathlib import Path

import polars as pl

TRAIL = pl.Schema(
    {
        "moment": pl.Datetime("us"),
        "day": pl.Date(),
        "by": pl.String(),
        "did": pl.String(),
        "kind": pl.String(),
        "unit": pl.String(),
        "records": pl.Int64(),
        "record": pl.String(),
        "through": pl.String(),
        "import_id": pl.String(),
    }
)


def trail(
    store: Path, *, unit: str | None = None, by: str | None = None, since: date | None = None
) -> pl.DataFrame:
    """TRAIL, the newest first: a row for each kind of record that somebody wrote at one time.

    `moment` is in UTC, null in what was written before it was kept. `unit` and `record` where all
    records of a row are about one unit, or are one record. `unit`: only what was about this one,
    whole name; `by`: only what was done under this name; `since`: that day and later.
    """
    from fleet.store import trail as told

    rows = told(store, unit=unit).rename({"today": "day"}).with_columns(did=_did())
    if by is not None:
        rows = rows.filter(pl.col("by").str.to_lowercase() == by.strip().lower())
    if since is not None:
        rows = rows.filter(pl.col("day") >= since)
    return rows.reverse().select(pl.col(name).cast(dtype) for name, dtype in TRAIL.items())


def _did() -> pl.Expr:
    """What was done, in a word or two, from what the store was told of it."""
    what = pl.col("what")
    many = pl.col("kind").is_null()
    return (
        pl.when(pl.col("import_id").is_null())
        .then(what)
        .when(what.str.starts_with("undo of "))
        .then(pl.format("took back import {}", what.str.strip_prefix("undo of ")))
        .when(what == "records taken back")
        .then(pl.lit("took back"))
        .when(what.str.contains(r"^log [a-z_]+$"))
        .then(pl.format("reported {}", what.str.strip_prefix("log ").str.replace_all("_", " ")))
        .when(what.str.contains(r"^add [a-z_]+$"))
        .then(pl.lit("added"))
        .when(what.str.contains(r"^amend [a-z_]+$"))
        .then(pl.lit("corrected"))
        .when(many)
        .then(pl.format("brought in {}, of which nothing was new", what))
        .otherwise(pl.format("brought in {}", what))
    )


def in_words(rows: pl.DataFrame) -> tuple[str, ...]:
    """A sentence on how far back moments and ways in are known, where rows lack them."""
    bare = rows.filter(pl.col("moment").is_null() & pl.col("through").is_null()).height
    if not bare:
        return ()
    what = "1 line tells" if bare == 1 else f"{bare:,} lines tell"
    return (f"{what} of days before the hour and the way in were kept",)
