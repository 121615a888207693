"""Reports of failure, one for each failure however many people told it."""

from collections.abc import Sequence

import polars as pl


def failures_once(
    reports: pl.DataFrame, pairs: pl.DataFrame, *, within: Sequence[str] = ()
) -> pl.DataFrame:
    """The first telling of each failure, with the cause any telling gives (null: none does).

    `reports`: known records, of which those of kind `failed` are read. `pairs`:
    lives.twice_told.TWICE_TOLD; tellings counted once there are one failure, and so are those
    that give one unit the same day. `within`: tellings of different values of these columns
    stay apart. Adds `tellings`, `day_known` and `position_named` (some telling has it).
    """
    failed = reports.filter(pl.col("kind") == "failed")
    first = _first_tellings(pairs)
    told = failed.with_columns(
        _event=pl.col("record").replace(first),
        _day=(pl.col("date_earliest") == pl.col("date_latest")).fill_null(value=False),
        _named=pl.col("positions").fill_null("all").str.to_lowercase() != "all",
        cause=pl.when(pl.col("cause") != "unknown").then("cause"),
    )
    same_day = ["unit", "date_earliest", "date_latest"]
    dated = pl.all_horizontal(pl.col(same_day).is_not_null())
    told = told.sort("date_latest", "record", nulls_last=True).with_columns(
        _event=pl.when(dated).then(pl.col("_event").first().over(same_day)).otherwise("_event"),
    )
    others = [c for c in failed.columns if c not in {*within, "cause"}]
    merged = told.group_by("_event", *within, maintain_order=True).agg(
        pl.col(others).first(),
        pl.col("cause").drop_nulls().first(),
        pl.len().alias("tellings"),
        pl.col("_day").any().alias("day_known"),
        pl.col("_named").any().alias("position_named"),
    )
    return merged.select(*failed.columns, "tellings", "day_known", "position_named")


def _first_tellings(pairs: pl.DataFrame) -> dict[str, str]:
    """By record of a later telling, the record of the first."""
    if pairs.is_empty():
        return {}
    once = pairs.filter(pl.col("counted_once") & (pl.col("what") == "failure"))
    first: dict[str, str] = {}

    def root(record: str) -> str:
        while record in first:
            record = first[record]
        return record

    for one, other in once.select("first", "second").iter_rows():
        a, b = root(one), root(other)
        if a != b:
            first[b] = a
    return {record: root(record) for record in first}
