"""Which past days can be looked back on."""

from datetime import date
from math import ceil

import polars as pl

from fleet.ages import days
from fleet.errors import BadInput
from fleet.flow.backtest_known import Past

MOST_DAYS = 120
_FRESH_YEARS = 3.0  # as long as a machine not heard of is not called silent


def last_day(
    past: Past, working: pl.DataFrame, *, as_of: date, horizon_years: float
) -> date | None:
    """The last day a whole horizon before most machines were last heard of; None without reports.

    A day with nobody heard of a horizon later can tell of failures only. So the end is the median
    day on which machines thought to work today (`working`, frames.WORKING) were last seen working,
    of those heard of within the last three years of reports.
    """
    if past.last is None:
        return None
    fresh = pl.col("last_known_working") > pl.lit(past.last) - pl.duration(days=days(_FRESH_YEARS))
    seen = working.filter(fresh)["last_known_working"].sort()
    heard = seen[len(seen) // 2] if len(seen) else past.last
    end = min(past.last, as_of, heard)
    return date.fromordinal(max(end.toordinal() - ceil(days(horizon_years)), 1))


def past_days(
    past: Past,
    working: pl.DataFrame,
    *,
    as_of: date,
    asked_first: date | None,
    every_years: float,
    horizon_years: float,
) -> list[date]:
    """The past days, oldest first: `last_day`, and back from there in steps of whole months, as
    long as at least one report was known. Empty where there is none.

    Raises BadInput where `asked_first` leaves none of them.
    """
    last = last_day(past, working, as_of=as_of, horizon_years=horizon_years)
    if last is None or past.first is None or last < past.first:
        return []
    months = max(1, round(12.0 * every_years))
    back = [f"-{months * n}mo" for n in range(MOST_DAYS)]
    found = pl.select(day=pl.lit(last).dt.offset_by(pl.lit(pl.Series(back))))
    kept = found.filter(pl.col("day") >= past.first)["day"].sort().to_list()
    chosen = [day for day in kept if asked_first is None or day >= asked_first]
    if not chosen:
        raise BadInput(
            f"no past day from {asked_first} on can be looked back on: the last one with "
            f"{horizon_years:g} years of records after it is {last}; give an earlier day"
        )
    return chosen
