"""Which machines on the list may well have failed without a word: ask before anything is done."""

from collections.abc import Mapping
from typing import Any

import polars as pl

ASK_ABOVE = 0.25  # chance that it has failed unseen; our own choice, said with it on the pages
_WORK = ("recap_now", "recap_when_due", "measure")


def ask_first() -> pl.Expr:
    """Whether to ask first, for rows with `action` and `p_failed_unseen` as in frames.DUE."""
    dead = (pl.col("p_failed_unseen") > ASK_ABOVE).fill_null(value=False)
    return dead & pl.col("action").is_in(_WORK)


def asks_first(row: Mapping[str, Any]) -> bool:
    """The same for one row."""
    return row["action"] in _WORK and (row["p_failed_unseen"] or 0.0) > ASK_ABOVE
