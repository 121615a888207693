"""Reports that came in, were corrected, or were taken back between two days."""

from collections.abc import Mapping

import polars as pl

from fleet.flow.changed_rows import CHANGED, rows_of

KIND_WORDS: Mapping[str, str] = {
    "failed": "failed",
    "working": "seen working",
    "recapped": "recapped",
    "repaired": "repaired",
    "board_swapped": "board swapped",
    "stored": "put into storage",
    "retired": "retired",
    "note": "a note",
}


def report_changes(
    then: Mapping[str, pl.DataFrame], now: Mapping[str, pl.DataFrame]
) -> pl.DataFrame:
    """CHANGED rows from the known units and reports of two days; the newest first.

    A report is new when it stands now and did not stand then; corrected when it stands in the
    place of one that did. One that stood then and stands no more, uncorrected, was taken back.
    """
    models = now["units"].select("unit", "model").unique("unit", keep="last")
    before = then["reports"].select("record", said=_told())
    # a correction of a correction supersedes a record that nobody saw on either day
    came = now["reports"].join(before, on="record", how="anti")
    came = came.with_columns(_told().alias("after")).join(
        before.select(pl.col("record").alias("supersedes"), pl.col("said").alias("before")),
        on="supersedes",
        how="left",
    )
    gone = then["reports"].join(now["reports"], on="record", how="anti")
    gone = gone.join(came.select(record="supersedes"), on="record", how="anti")
    gone = gone.with_columns(_told().alias("before"))
    parts = (
        _rows(came.filter(pl.col("supersedes").is_null()), models, "new_report", "{}: {}"),
        _rows(came.filter(pl.col("supersedes").is_not_null()), models, "corrected_report",
              "{}: corrected to {}"),
        _rows(gone, models, "withdrawn_report", "{}: taken back: {}"),
    )  # fmt: skip
    return pl.concat(parts)


def _rows(frame: pl.DataFrame, models: pl.DataFrame, what: str, said: str) -> pl.DataFrame:
    if frame.is_empty():
        return pl.DataFrame(schema=CHANGED)
    told = "before" if what == "withdrawn_report" else "after"
    rows = (
        frame.sort("date_latest", "entered_on", "record", descending=True, nulls_last=True)
        .join(models, on="unit", how="left", maintain_order="left")
        .with_columns(
            name="unit", on="date", sentence=pl.format(said, pl.col("unit"), pl.col(told))
        )
    )
    return rows_of(rows, what)


def _told() -> pl.Expr:
    """The report in a few words, its day included; free text is left where it is."""
    kind = pl.col("kind").replace(KIND_WORDS)
    cause = (
        pl.when(pl.col("cause") == "capacitor")
        .then(pl.lit(" (a capacitor)"))
        .when(pl.col("cause") == "other")
        .then(pl.lit(" (something else)"))
        .otherwise(pl.lit(""))
    )
    day = pl.col("date").fill_null("on an unknown day")
    return pl.format("{}{}, {}", kind, cause, day)
