"""Months of a plan: the rest of the present one, then whole ones."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from fleet.decisions.weibull_life import Floats
from fleet.errors import BadInput

MOST_MONTHS = 120


@dataclass(frozen=True, slots=True)
class Month:
    """First and last day of a month, or of what is left of it; both count."""

    first: date
    last: date

    @property
    def name(self) -> str:
        """As 2027-03."""
        return f"{self.first:%Y-%m}"

    @property
    def days(self) -> int:
        """How many days it has, or has left."""
        return (self.last - self.first).days + 1

    @property
    def share(self) -> float:
        """The part of the whole month that is left: 1 for a whole one."""
        return self.days / self.last.day


def months_from(as_of: date, count: int) -> list[Month]:
    """`count` months, the first of them from `as_of` to its end.

    Raises BadInput for a number of months below 1 or beyond the calendar.

    >>> [(m.name, m.days) for m in months_from(date(2024, 2, 10), 2)]
    [('2024-02', 20), ('2024-03', 31)]
    """
    if count < 1:
        raise BadInput(f"the plan has {count} months; give 1 to {MOST_MONTHS}")
    if as_of.year + count // 12 + 1 >= date.max.year:
        raise BadInput(f"{count} months after {as_of} lie beyond the calendar; ask for fewer")
    found, first = [], as_of
    for _ in range(count):
        following = date(first.year + first.month // 12, first.month % 12 + 1, 1)
        found.append(Month(first, following - timedelta(days=1)))
        first = following
    return found


def days_to_middles(as_of: date, months: list[Month]) -> Floats:
    """Days from `as_of` to the middle of each month, at which its jobs are reckoned."""
    return np.array([(month.first - as_of).days + (month.days - 1) / 2.0 for month in months])
