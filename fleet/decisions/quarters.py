"""Calendar quarters after a day, the first of them what is left of the present one."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from fleet.decisions.weibull_life import Floats
from fleet.errors import BadInput

MOST_QUARTERS = 120


@dataclass(frozen=True, slots=True)
class Quarter:
    """First and last day of a quarter, or of what is left of it; both count."""

    first: date
    last: date


def quarters_after(as_of: date, count: int) -> list[Quarter]:
    """The next `count` quarters from the day after `as_of` on; the first one may be a part.

    Raises BadInput for a number of quarters below 1 or above 120, or beyond the calendar.

    >>> [str(q.last) for q in quarters_after(date(2024, 2, 10), 3)]
    ['2024-03-31', '2024-06-30', '2024-09-30']
    """
    if not 1 <= count <= MOST_QUARTERS:
        raise BadInput(f"the number of quarters is {count}; give 1 to {MOST_QUARTERS}")
    if as_of.year + count // 4 + 1 >= date.max.year:
        raise BadInput(f"{count} quarters after {as_of} lie beyond the calendar; ask for fewer")
    found, first = [], as_of + timedelta(days=1)
    for _ in range(count):
        last = _last_day(first)
        found.append(Quarter(first, last))
        first = last + timedelta(days=1)
    return found


def days_to_ends(as_of: date, quarters: list[Quarter]) -> Floats:
    """Days from `as_of` to the end of each quarter."""
    return np.array([float((quarter.last - as_of).days) for quarter in quarters])


def _last_day(day: date) -> date:
    month = 3 * ((day.month - 1) // 3) + 3
    following = date(day.year + month // 12, month % 12 + 1, 1)
    return following - timedelta(days=1)
