"""Polars expressions that put numbers into words: chances, ages, dates. Null stays null."""

import polars as pl

from fleet.ages import DAYS_PER_YEAR

_IN_DAYS, _IN_MONTHS = 100.0, 350.0  # spans below are said in days, and in months


def chance_said(chance: pl.Expr) -> pl.Expr:
    """A chance as spoken: "1 in 50", "3 in 10", "96 in 100", "almost certain".

    As flow.read_aloud.chance_words says one, so that no page says two numbers for one chance.
    """
    times = 1.0 / chance.clip(0.001, 1.0)
    # two figures: 1 in 120 and not 1 in 123
    step = pl.when(times >= 100.0).then(10.0).otherwise(1.0)
    one_in = ((times / step).round(0) * step).cast(pl.Int64)
    many = pl.when(one_in >= 1000).then(pl.lit("1,000")).otherwise(one_in.cast(pl.String))
    in_ten = (chance * 10.0).round(0).clip(1.0, 9.0).cast(pl.Int64, strict=False).cast(pl.String)
    in_hundred = (chance * 100.0).round(0).cast(pl.Int64, strict=False).cast(pl.String)
    return (
        pl.when(chance < 0.001)
        .then(pl.lit("less than 1 in 1,000"))
        .when(chance < 0.15)
        .then(pl.format("1 in {}", many))
        .when(chance <= 0.95)
        .then(pl.format("{} in 10", in_ten))
        .when(chance <= 0.995)
        .then(pl.format("{} in 100", in_hundred))
        .when(chance <= 1.0)
        .then(pl.lit("almost certain"))
    )


def years_said(days: pl.Expr) -> pl.Expr:
    """Days as "9.3 years"; below a year as "5 months", below a hundred days as "20 days"."""
    years = (days / DAYS_PER_YEAR).round(1)
    whole = days.round(0).cast(pl.Int64, strict=False)
    months = (days / (DAYS_PER_YEAR / 12.0)).round(0).cast(pl.Int64, strict=False)
    return (
        pl.when(whole == 1)
        .then(pl.lit("1 day"))
        .when(days < _IN_DAYS)
        .then(pl.format("{} days", whole))
        .when(days < _IN_MONTHS)
        .then(pl.format("{} months", months))
        .when(years == 1.0)
        .then(pl.lit("1 year"))
        .otherwise(pl.format("{} years", _short(years)))
    )


def day_said(day: pl.Expr) -> pl.Expr:
    """A date as "3 May 2031"."""
    return day.dt.to_string("%-d %B %Y")


def count_said(number: pl.Expr) -> pl.Expr:
    """A count, which may be a sum of shares, as "23" or "4.5"."""
    return _short(number.round(1))


def horizon_said(years: float) -> str:
    """A horizon as "2 years" or "1 year"."""
    return "1 year" if years == 1 else f"{years:g} years"


def _short(number: pl.Expr) -> pl.Expr:
    return number.cast(pl.String).str.strip_suffix(".0")
