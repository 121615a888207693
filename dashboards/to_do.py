"""What to do with a machine, in words: those that may have failed unseen are asked after first."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet import charts
from fleet.flow.ask_first import ask_first, asks_first
from fleet.flow.read_aloud import chance_words

_THEN = {"recap_now": "recap", "recap_when_due": "recap", "measure": "measure"}


def headline(row: Mapping[str, Any]) -> str:
    """Of one row with `action` and `p_failed_unseen`."""
    if asks_first(row):
        return f"Ask first, then {_THEN[row['action']]}"
    return str(charts.ACTION_WORDS.get(row["action"], row["action"])).capitalize()


def column() -> pl.Expr:
    """The same, short enough for a cell."""
    return (
        pl.when(ask_first())
        .then(pl.format("ask, then {}", pl.col("action").replace(_THEN)))
        .otherwise(pl.col("action").replace(charts.ACTION_WORDS))
        .alias("What to do")
    )


def fails_before(row: Mapping[str, Any]) -> str:
    """The chance to fail before a day, `p_fail_before`, of a machine that may not work any more."""
    if not asks_first(row):
        return chance_words(row["p_fail_before"])
    return (
        f"{chance_words(row['p_fail_before'])} if it still works; "
        f"{chance_words(row['p_failed_unseen'])} that it no longer does"
    )
