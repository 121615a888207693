"""Date codes printed on cans, read as candidates: a code never names one year by itself.

Schemes: year and week as four digits (YYWW, as in EIA-476), and the letters of IEC 60062: one
letter for the year on a 20-year cycle, one sign for the month (1 to 9, O, N, D). The letter table
agrees with the published R = 2003 to X = 2009; the other letters are from memory.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta

# IEC 60062, 20-year cycle: G, I, O, Q, Y and Z are not used.
_YEAR_LETTERS = "ABCDEFHJKLMNPRSTUVWX"
_MONTHS = "123456789OND"
_FIRST_CYCLE = 1970


@dataclass(frozen=True, slots=True)
class Candidate:
    """One reading of a date code: the scheme's name and the first and last day it may mean."""

    scheme: str
    earliest: date
    latest: date


def date_code_candidates(code: str, *, not_after: date) -> tuple[Candidate, ...]:
    """Every reading of `code` that begins by `not_after`, earliest first; empty when none fits."""
    text = re.sub(r"[\s./-]", "", code).upper()
    found = [*_year_week(text), *_year_month_letters(text)]
    kept = (c for c in found if c.earliest <= not_after)
    return tuple(sorted(kept, key=lambda c: (c.earliest, c.scheme)))


def earliest_made(code: str, *, not_after: date) -> date | None:
    """The first day on which parts with this code may have been made; None when it is unread.

    A board cannot be older than its parts, so this bounds a build date from below whichever of
    the candidates is right.
    """
    candidates = date_code_candidates(code, not_after=not_after)
    return candidates[0].earliest if candidates else None


def _year_week(text: str) -> list[Candidate]:
    match = re.fullmatch(r"(\d\d)(\d\d)", text)
    if not match or not 1 <= int(match[2]) <= 53:
        return []
    out = []
    for century in (1900, 2000):
        year = century + int(match[1])
        if year < _FIRST_CYCLE:
            continue
        # The rule for week 1 differs by maker, so allow a week on each side.
        start = date(year, 1, 1) + timedelta(weeks=int(match[2]) - 1)
        span = timedelta(days=13)
        out.append(Candidate("year and week", start - timedelta(days=7), start + span))
    return out


def _year_month_letters(text: str) -> list[Candidate]:
    match = re.fullmatch(rf"([{_YEAR_LETTERS}])([{_MONTHS}])", text)
    if not match:
        return []
    month = _MONTHS.index(match[2]) + 1
    out = []
    for cycle in range(_FIRST_CYCLE, 2031, 20):
        year = cycle + _YEAR_LETTERS.index(match[1])
        after = date(year + month // 12, month % 12 + 1, 1)
        last = after - timedelta(days=1)
        out.append(Candidate("IEC 60062 letters", date(year, month, 1), last))
    return out
