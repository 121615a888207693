"""Since when a machine has been due: `due_on` never lies before the day the list was made."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import polars as pl


def date_reached() -> pl.Expr:
    """The day on which units of a due list (frames.DUE) reach their date, or reached it."""
    late = pl.duration(days=pl.col("overdue_days").fill_null(0.0).round().cast(pl.Int64))
    return pl.col("due_on") - late


def overdue() -> pl.Expr:
    """Whether units of a due list have passed their date."""
    return pl.col("overdue_days").fill_null(0.0) >= 1.0


def day_reached(row: Mapping[str, Any]) -> date | None:
    """The same for one row of the list."""
    if row["due_on"] is None:
        return None
    return row["due_on"] - timedelta(days=round(row["overdue_days"] or 0.0))  # type: ignore[no-any-return]
