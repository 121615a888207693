"""Shelf age of parts in a drawer or at a supplier, read off their date code.

METHODS: shelf
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.capacitors.date_codes import Candidate, read_date_code
from fleet.capacitors.reforming import FINE_YEARS

# A secondary source (allpcb.com): about five years without reforming; weak, so only bought parts
# are left for it, and stock is measured.
LEAVE_YEARS = 5.0

# Small parts cost less than the half hour at the bench that reforming takes; ours, no source.
SMALL_VOLTS = 100.0

Verdict = Literal["fine", "reform", "leave"]
Held = Literal["stock", "offer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Shelf age in years by the youngest and the oldest usual reading of a code; None: unknown.

    `verdict`: fine; reform (before it goes in); leave (do not buy, or do not fit). `certain`:
    every usual reading gives the same verdict. `sentence` says it in words.
    """

    youngest: float | None
    oldest: float | None
    verdict: Verdict
    certain: bool
    sentence: str


def shelf_advice(
    date_code: str | None,
    as_of: date,
    *,
    held: Held = "stock",
    not_before: date | None = None,
    fresh_on_offer: bool = False,
) -> Shelf:
    """What to do with parts of this date code on `as_of`, by the oldest usual reading.

    `held`: "stock" (there already, so reform and measure) or "offer" (old ones are left).
    `fresh_on_offer`: of a small cheap part a fresh one can be bought, so stock that would need
    reforming is left (see fresh_small_parts). `not_before`: no part of this series was made
    earlier. Readings of seldom-met schemes count only where there is no usual one.
    """
    if not (date_code or "").strip():
        return _unknown("no date code told", held, fresh_on_offer)
    read = read_date_code(str(date_code), not_after=as_of, not_before=not_before)
    if read.why_not:
        return _unknown(f"date code {date_code} says no date: {read.why_not}", held, fresh_on_offer)
    usual = [c for c in read.candidates if c.usual] or list(read.candidates)
    ages = [(_years(c.latest, as_of), _years(c.earliest, as_of)) for c in usual]
    youngest, oldest = min(a for a, _ in ages), max(a for _, a in ages)
    verdict, certain = _verdict(oldest, held), _verdict(youngest, held) == _verdict(oldest, held)
    advice = _ADVICE[held, verdict]
    if held == "stock" and verdict == "reform" and fresh_on_offer:
        verdict, advice = "leave", _BUY_FRESH
    sentence = f"{_age_words(str(date_code), usual, as_of)}: {advice}"
    if not certain:
        sentence += "; the code can mean a younger part, so ask which it is"
    return Shelf(
        youngest=youngest, oldest=oldest, verdict=verdict, certain=certain, sentence=f"{sentence}."
    )


def fresh_small_parts(offers: pl.DataFrame, as_of: date) -> frozenset[str]:
    """Parts that are small (up to SMALL_VOLTS, no snap-in) and on offer with a price and fresh.

    `offers`: known frame of the record kind. Stock of these that would need reforming is left.
    """
    small = (pl.col("voltage") <= SMALL_VOLTS) & (pl.col("lead_form") != "snap-in").fill_null(
        value=True
    )
    asked = offers.filter(small & pl.col("price").is_not_null() & pl.col("date_code").is_not_null())
    codes = asked["date_code"].unique().to_list()
    fresh = [c for c in codes if shelf_advice(c, as_of, held="offer").verdict == "fine"]
    return frozenset(asked.filter(pl.col("date_code").is_in(fresh))["part"].to_list())


_BUY_FRESH = (
    "it would have to be reformed first, and a fresh one of this small part is on offer: buy fresh"
)
_ADVICE = {
    ("stock", "fine"): "no treatment needed if it lay at 5 to 35 °C",
    ("stock", "reform"): (
        "of a cheap small part buy fresh where a fresh one is on offer; else reform it and measure "
        "leakage, capacitance and ESR before it goes in"
    ),
    ("stock", "leave"): "too old to fit where a failure matters; measure it or buy fresh",
    ("offer", "fine"): "fresh enough",
    ("offer", "reform"): "ask for a later date code, else reform it before it goes in",
    ("offer", "leave"): "leave it; ask for a later date code or another supplier",
}
_STOCK_LEAVE_YEARS = 15.0  # as old as makers claim any part to last; our own rule


def _verdict(years: float, held: Held) -> Verdict:
    if years <= FINE_YEARS:
        return "fine"
    most = LEAVE_YEARS if held == "offer" else _STOCK_LEAVE_YEARS
    return "reform" if years <= most else "leave"


def _unknown(why: str, held: Held, fresh_on_offer: bool) -> Shelf:
    if held == "stock" and fresh_on_offer:
        return Shelf(
            youngest=None,
            oldest=None,
            verdict="leave",
            certain=False,
            sentence=f"{why[:1].upper()}{why[1:]}: its shelf age is unknown; {_BUY_FRESH}.",
        )
    ask = "ask the supplier for it" if held == "offer" else "treat it as older than two years"
    return Shelf(
        youngest=None,
        oldest=None,
        verdict="reform",
        certain=False,
        sentence=f"{why[:1].upper()}{why[1:]}: its shelf age is unknown, so {ask}, and reform it "
        "before it goes in if in doubt.",
    )


def _years(day: date, as_of: date) -> float:
    return max((as_of - day).days, 0) / DAYS_PER_YEAR


def _age_words(code: str, usual: list[Candidate], as_of: date) -> str:
    spans = [f"{c.earliest.year}" for c in usual]
    ages = [_years(c.earliest, as_of) for c in usual]
    few = list(dict.fromkeys(f"{y} ({a:.1f} years old)" for y, a in zip(spans, ages, strict=True)))
    shown = few if len(few) <= 3 else [few[0], "...", few[-1]]
    return f"Date code {code} means {' or '.join(shown)}"
