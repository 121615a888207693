"""Date codes printed on capacitors, read as candidates: a code never names one year by itself.

The schemes are in `date_code_schemes.py`. METHODS: date-codes
"""

import re
from dataclasses import dataclass
from datetime import date

from fleet.capacitors.date_code_schemes import (
    DIGITS_ONLY,
    IEC_MONTHS,
    LAST_WEEK,
    WITH_LETTERS,
    YEAR_LETTERS,
    Candidate,
)

__all__ = [
    "Candidate",
    "DateCode",
    "cannot_be",
    "date_code_candidates",
    "earliest_made",
    "read_date_code",
]

_KNOWN = "year and week 0443, 342, letter and month R3, digit and month 3O, year month day 31203"
_WEEKS = f"weeks run from 01 to {LAST_WEEK}"


@dataclass(frozen=True, slots=True)
class DateCode:
    """What a code can mean: its candidates, earliest first, and without any, why (`why_not`)."""

    code: str
    candidates: tuple[Candidate, ...]
    why_not: str | None


def read_date_code(
    code: str, *, not_after: date, not_before: date | None = None, on_capacitor: bool = True
) -> DateCode:
    """Every reading of `code` that begins by `not_after` and ends on `not_before` or later.

    `on_capacitor` false (a board, a serial number): letters are not read, since makers of machines
    have letters of their own.
    """
    text = _signs(code)
    schemes = (*DIGITS_ONLY, *WITH_LETTERS) if on_capacitor else DIGITS_ONLY
    every = dict.fromkeys(c for scheme in schemes for c in scheme(text))
    kept = [
        c
        for c in every
        if c.earliest <= not_after and (not_before is None or c.latest >= not_before)
    ]
    kept.sort(key=lambda c: (c.earliest, not c.usual, c.scheme))
    why_not = None
    if not every:
        why_not = _why_no_date(text, on_capacitor=on_capacitor)
    elif not kept:
        span = f"by {not_after}" if not_before is None else f"from {not_before} to {not_after}"
        why_not = f"no reading of {text} lies {span}"
        if re.fullmatch(r"\d{4}", text) and not any(c.usual for c in every):
            why_not = (
                f"{text[2:]} is no week ({_WEEKS}), and the other way round it lies not {span}"
            )
    return DateCode(code=code, candidates=tuple(kept), why_not=why_not)


def cannot_be(code: str, *, not_after: date) -> str | None:
    """Why a code that has the form of a date code is none; None for codes of any other form.

    Makers have lot codes of many forms, of which nothing can be said.
    """
    formed = re.fullmatch(r"\d{3,5}|[A-Z0-9][A-Z0-9]", _signs(code))
    return read_date_code(code, not_after=not_after).why_not if formed else None


def date_code_candidates(
    code: str, *, not_after: date, not_before: date | None = None, on_capacitor: bool = True
) -> tuple[Candidate, ...]:
    """The candidates of `read_date_code`: earliest first; empty when none fits."""
    read = read_date_code(
        code, not_after=not_after, not_before=not_before, on_capacitor=on_capacitor
    )
    return read.candidates


def earliest_made(code: str, *, not_after: date) -> date | None:
    """The first day on which parts with this code may have been made; None when it is unread.

    A board cannot be older than its parts, so this bounds a build date from below whichever of
    the candidates is right: those of seldom-met schemes count as well.
    """
    candidates = date_code_candidates(code, not_after=not_after)
    return candidates[0].earliest if candidates else None


def _signs(code: str) -> str:
    """The signs that count; a lone letter keeps its case, which a four-year cycle goes by."""
    text = re.sub(r"[\s./-]", "", code)
    return text if len(text) == 1 else text.upper()


def _why_no_date(text: str, *, on_capacitor: bool) -> str:
    """Why signs that no scheme reads are no date, in half a sentence."""
    if re.fullmatch(r"\d{4}", text):
        other = "" if text[:2] == text[2:] else f", and the other way round nor is {text[:2]}"
        return f"{text[2:]} is no week ({_WEEKS}){other}"
    if re.fullmatch(r"\d{3}", text):
        return f"{text[1:]} is no week ({_WEEKS})"
    if re.fullmatch(r"\d{5}", text):
        return f"{text[1:3]}-{text[3:]} is no month and day, and {text[2:]} is no day of a year"
    if re.fullmatch(r"[A-Za-z]|[A-Z0-9][A-Z0-9]", text) and not on_capacitor:
        return "signs like these are read off capacitors only; makers of machines have their own"
    if re.fullmatch(r"[A-Z0-9][A-Z0-9]", text):
        return _why_no_month(text)
    if not text:
        return "there is nothing to read"
    return f"no date code looks like that (known are {_KNOWN}); give the signs of the date alone"


def _why_no_month(text: str) -> str:
    year, month = text[0], text[1]
    if year.isalpha() and year not in YEAR_LETTERS:
        return f"{year} stands for no year (G, I, O, Q, Y and Z are not used)"
    named = f"{IEC_MONTHS[0]} to 9, then {', '.join(IEC_MONTHS[9:])}"
    return f"{month} stands for no month (they are {named})"
