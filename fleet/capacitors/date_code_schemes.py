"""The schemes by which makers print dates on capacitors, each read for all it can mean.

Every function takes the signs of a code and gives its readings, or none. Sources: EIA-476 for year
and week; IEC 60062 for letters (its summary names the cycles; letters R = 2003 to X = 2009 and the
months O, N, D are as published, the rest is from memory); 342, 31203 and the months A, B, C are as
in public part-marking pages. METHODS: date-codes
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

# IEC 60062, 20-year cycle: G, I, O, Q, Y and Z are not used.
YEAR_LETTERS = "ABCDEFHJKLMNPRSTUVWX"
IEC_MONTHS = "123456789OND"
MAKERS_MONTHS = "123456789ABC"
# One sign on a four-year cycle: twelve letters a year, I and O left out. From memory.
_FOUR_YEARS = ("ABCDEFGHJKLM", "NPQRSTUVWXYZ", "abcdefghjklm", "npqrstuvwxyz")
# Makers begin that cycle in different years (from memory), two apart: both are kept. The standard
# took it up in 2004, so not read before the years when makers had it.
_CYCLE_BEGINS = (1991, 1993)
_ONE_SIGN_FROM = 1990
FIRST_YEAR = 1970
_LAST_YEAR = 2099
LAST_WEEK = 53


@dataclass(frozen=True, slots=True)
class Candidate:
    """One reading of a date code: the scheme's name and the first and last day it may mean.

    `usual`: false for schemes met seldom on capacitors.
    """

    scheme: str
    earliest: date
    latest: date
    usual: bool = True


def year_and_week(text: str) -> Iterator[Candidate]:
    """YYWW: 0443 is week 43 of 2004."""
    if match := re.fullmatch(r"(\d\d)(\d\d)", text):
        for year in _centuries(int(match[1])):
            yield from _week("year and week", year, int(match[2]))


def week_and_year(text: str) -> Iterator[Candidate]:
    """WWYY: the same the other way round, which some makers print (from memory)."""
    if match := re.fullmatch(r"(\d\d)(\d\d)", text):
        for year in _centuries(int(match[2])):
            yield from _week("week and year", year, int(match[1]), usual=False)


def digit_and_week(text: str) -> Iterator[Candidate]:
    """YWW: 342 is week 42 of 2003, or of any year that ends in 3."""
    if match := re.fullmatch(r"(\d)(\d\d)", text):
        for year in _decades(int(match[1])):
            yield from _week("last digit of the year, and week", year, int(match[2]))


def digit_month_day(text: str) -> Iterator[Candidate]:
    """YMMDD: 31203 is 3 December 2003, or of any year that ends in 3."""
    if match := re.fullmatch(r"(\d)(\d\d)(\d\d)", text):
        for year in _decades(int(match[1])):
            try:
                day = date(year, int(match[2]), int(match[3]))
            except ValueError:
                continue
            yield Candidate("last digit of the year, month and day", day, day)


def year_and_day(text: str) -> Iterator[Candidate]:
    """YYDDD: 04337 is the 337th day of 2004 (from memory)."""
    if match := re.fullmatch(r"(\d\d)(\d{3})", text):
        for year in _centuries(int(match[1])):
            day = date(year, 1, 1) + timedelta(days=int(match[2]) - 1)
            if day.year == year:
                yield Candidate("year and day of the year", day, day, usual=False)


def letter_and_month(text: str) -> Iterator[Candidate]:
    """IEC 60062 on its 20-year cycle: R3 is March 2003, or 1983, or 2023."""
    if match := re.fullmatch(rf"([{YEAR_LETTERS}])([{IEC_MONTHS}])", text):
        month = IEC_MONTHS.index(match[2]) + 1
        for cycle in range(FIRST_YEAR, _LAST_YEAR, 20):
            yield _month("IEC 60062 letters", cycle + YEAR_LETTERS.index(match[1]), month)


def digit_and_month(text: str) -> Iterator[Candidate]:
    """IEC 60062 on its 10-year cycle: 3O is October 2003, or of any year that ends in 3."""
    if match := re.fullmatch(rf"(\d)([{IEC_MONTHS}])", text):
        for year in _decades(int(match[1])):
            yield _month("IEC 60062 digit and month", year, IEC_MONTHS.index(match[2]) + 1)


def digit_and_makers_month(text: str) -> Iterator[Candidate]:
    """Some makers' months A, B, C for October to December: 3A is October 2003, or 2013."""
    if match := re.fullmatch(r"(\d)([ABC])", text):
        for year in _decades(int(match[1])):
            month = MAKERS_MONTHS.index(match[2]) + 1
            yield _month("last digit of the year, and a maker's month letter", year, month)


def one_sign(text: str) -> Iterator[Candidate]:
    """IEC 60062 on its four-year cycle: one letter for the month of one year in four."""
    for place, letters in enumerate(_FOUR_YEARS):
        if len(text) == 1 and text in letters:
            month = letters.index(text) + 1
            for begins in _CYCLE_BEGINS:
                first = _ONE_SIGN_FROM + (begins + place - _ONE_SIGN_FROM) % 4
                for year in range(first, _LAST_YEAR, 4):
                    yield _month("IEC 60062 one sign, four-year cycle", year, month, usual=False)


# Those that read letters: of capacitors only, never of a machine's serial number.
WITH_LETTERS: tuple[Callable[[str], Iterator[Candidate]], ...] = (
    letter_and_month,
    digit_and_month,
    digit_and_makers_month,
    one_sign,
)
DIGITS_ONLY: tuple[Callable[[str], Iterator[Candidate]], ...] = (
    year_and_week,
    week_and_year,
    digit_and_week,
    digit_month_day,
    year_and_day,
)


def _centuries(year: int) -> Iterator[int]:
    return (century + year for century in (1900, 2000) if century + year >= FIRST_YEAR)


def _decades(digit: int) -> Iterator[int]:
    return (decade + digit for decade in range(FIRST_YEAR, _LAST_YEAR, 10))


def _week(scheme: str, year: int, week: int, *, usual: bool = True) -> Iterator[Candidate]:
    """The days of a week; the rule for week 1 differs by maker, so with a week on each side."""
    if 1 <= week <= LAST_WEEK:
        start = date(year, 1, 1) + timedelta(weeks=week - 1)
        yield Candidate(scheme, start - timedelta(days=7), start + timedelta(days=13), usual)


def _month(scheme: str, year: int, month: int, *, usual: bool = True) -> Candidate:
    after = date(year + month // 12, month % 12 + 1, 1)
    return Candidate(scheme, date(year, month, 1), after - timedelta(days=1), usual)
