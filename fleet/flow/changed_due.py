"""Two due lists side by side: who came, who went, whose advice is another one."""

from collections.abc import Mapping

import polars as pl

from fleet.flow.changed_reports import KIND_WORDS
from fleet.flow.changed_rows import rows_of

ADVICE: Mapping[str, str] = {
    "recap_now": "due now",
    "recap_when_due": "due later",
    "measure": "to be measured first",
    "check_in": "to be asked after",
    "leave": "left alone",
}
NOT_LISTED = "not on the list"


def due_changes(
    then: pl.DataFrame, now: pl.DataFrame, records: Mapping[str, pl.DataFrame]
) -> pl.DataFrame:
    """CHANGED rows from two due lists (frames.DUE); `records` of the later day say why one left."""
    columns = ("unit", "model", "action", "due_on")
    both = then.select(columns).join(
        now.select(columns), on="unit", how="inner", suffix="_now", maintain_order="right"
    )
    both = both.filter(pl.col("action") != pl.col("action_now")).with_columns(
        model="model_now",
        before=_advice("action", "due_on"),
        after=_advice("action_now", "due_on_now"),
    )
    both = both.with_columns(
        sentence=pl.format("{}: {}; it was {}", "unit", pl.col("after"), pl.col("before"))
    )
    came = now.join(then.select("unit"), on="unit", how="anti", maintain_order="left")
    came = came.with_columns(before=pl.lit(NOT_LISTED), after=_advice("action", "due_on"))
    came = came.with_columns(sentence=pl.format("{}: new on the list, {}", "unit", "after"))
    due = pl.col("action") == "recap_now"
    parts = (
        _named(both.filter(pl.col("action_now") == "recap_now"), "became_due"),
        _named(came.filter(due), "became_due"),
        _named(both.filter(due), "no_longer_due"),
        _named(_left(then, now, records), "left_list"),
        _named(came.filter(~due), "joined_list"),
        _named(both.filter(~due & (pl.col("action_now") != "recap_now")), "other_advice"),
    )
    return pl.concat(parts)


def _left(
    then: pl.DataFrame, now: pl.DataFrame, records: Mapping[str, pl.DataFrame]
) -> pl.DataFrame:
    """Machines no longer thought to be working, with the last thing told of each."""
    last = (
        records["reports"]
        .filter(pl.col("kind") != "note")
        .sort("date_latest", "date_earliest", "record")
        .group_by("unit")
        .agg(pl.col("kind").last().replace(KIND_WORDS), pl.col("date").last())
    )
    gone = then.join(now.select("unit"), on="unit", how="anti", maintain_order="left")
    told = pl.format("{}, {}", "kind", pl.col("date").fill_null("on an unknown day"))
    return (
        gone.join(last, on="unit", how="left", maintain_order="left")
        .with_columns(
            before=_advice("action", "due_on"),
            after=told.fill_null("no longer recorded"),
            on="date",
        )
        .with_columns(
            sentence=pl.format("{}: off the list ({}); it was {}", "unit", "after", "before")
        )
    )


def _advice(action: str, due_on: str) -> pl.Expr:
    """The advice in words, with its date where that lies ahead."""
    word = pl.col(action).replace(ADVICE)
    later = (pl.col(action) == "recap_when_due") & pl.col(due_on).is_not_null()
    dated = pl.format("{}, on {}", word, pl.col(due_on).dt.to_string("%Y-%m-%d"))
    return pl.when(later).then(dated).otherwise(word)


def _named(frame: pl.DataFrame, what: str) -> pl.DataFrame:
    return rows_of(frame.with_columns(name="unit"), what)
