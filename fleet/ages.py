"""Dates to ages and back. Whole days inside; years only for people.

The only place where the length of a year appears.
"""

from datetime import date

import polars as pl

DAYS_PER_YEAR = 365.25


def middle(earliest: date, latest: date) -> date:
    """The day half way between two days, the earlier of two candidates."""
    return earliest + (latest - earliest) // 2


def years(days: float) -> float:
    """Days as years of 365.25 days."""
    return days / DAYS_PER_YEAR


def days(years: float) -> float:
    """Years of 365.25 days as days."""
    return years * DAYS_PER_YEAR


def days_expr(start: pl.Expr, end: pl.Expr) -> pl.Expr:
    """`end - start` of two Date expressions in whole days, as Float64."""
    return (end - start).dt.total_days().cast(pl.Float64)


def middle_expr(earliest: pl.Expr, latest: pl.Expr) -> pl.Expr:
    """Date half way between two Date expressions; the same rule as `middle`."""
    return earliest + pl.duration(days=(latest - earliest).dt.total_days() // 2)
