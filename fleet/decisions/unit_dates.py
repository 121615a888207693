"""Ages of working units at the as-of date, dates from best ages, and the order of urgency."""

from datetime import date

import polars as pl

from fleet.ages import days_expr
from fleet.decisions.actions import ACTIONS

_LAST_DAY = (date.max - date(1970, 1, 1)).days


def with_ages(working: pl.DataFrame, *, as_of: date) -> pl.DataFrame:
    """Adds since (day the age counts from), seen (day last seen working), age and seen_at."""
    at = pl.lit(as_of)
    since = pl.when(pl.col("parts") == "partial").then(pl.col("oldest_started"))
    return working.with_columns(
        since=pl.coalesce(since, "started"),
        seen=pl.max_horizontal("last_known_working", "started"),  # it worked with its set new
    ).with_columns(
        age=days_expr(pl.col("since"), at).clip(lower_bound=0.0),
        seen_at=days_expr(pl.col("since"), pl.min_horizontal("seen", at)).clip(lower_bound=0.0),
    )


def with_dates(units: pl.DataFrame, *, as_of: date) -> pl.DataFrame:
    """Adds optimal_age, due_on, due_low, due_high and overdue_days; null past the calendar."""
    at = pl.lit(as_of).to_physical()

    def day(best: str) -> pl.Expr:
        number = pl.col("since").to_physical() + pl.col(best).round(0)
        within = pl.when(number <= _LAST_DAY).then(pl.max_horizontal(number, at))
        return within.cast(pl.Int32).cast(pl.Date)

    dated = units.with_columns(
        due_on=day("best"), due_low=day("best_low"), due_high=day("best_high")
    )
    return dated.with_columns(
        optimal_age=pl.when(pl.col("due_on").is_not_null()).then("best"),
    ).with_columns(
        overdue_days=(pl.col("age") - pl.col("optimal_age")).clip(lower_bound=0.0),
    )


def most_urgent_first(judged: pl.DataFrame) -> pl.DataFrame:
    """The most urgent first: by action, date and chance."""
    rank = pl.col("action").replace_strict(ACTIONS, range(len(ACTIONS)), return_dtype=pl.Int8)
    return judged.sort(
        rank,
        "due_on",
        pl.col("p_fail"),
        "unit",
        descending=[False, False, True, False],
        nulls_last=True,
    )
