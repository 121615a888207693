"""How a point of comparison between a place and a part is written down: rules, the first wins."""

from dataclasses import dataclass

import polars as pl

from fleet.capacitors.values import filled

FITS = "fits"
CARE = "fits_with_care"
NOT_KNOWN = "facts_not_known"  # too little is known for any verdict: neither in nor out
REFUSED = "does_not_fit"
VERDICTS = (FITS, CARE, NOT_KNOWN, REFUSED)  # the worst of a pair's reasons is the pair's verdict

PRACTICE = "common practice, no source"
OWN_RULE = "our own rule, no source"
IEC_60063 = "IEC 60063 (from memory)"
IEC_60384_14 = "IEC 60384-14 (from memory)"
SHEETS = "makers' data sheets (from memory)"
RECORDS = "the records"


@dataclass(frozen=True, slots=True)
class Rule:
    """Where `when` holds of a place and a part: a verdict, its sentence and where it comes from.

    `measure`: facts to find out before the part is ordered.
    """

    when: pl.Expr
    verdict: str
    sentence: pl.Expr
    source: str
    measure: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Point:
    """One point of comparison: which facts of the place and of the part it reads, and its rules.

    The first rule that holds says the reason; where none does the point has nothing to say.
    """

    name: str
    of_place: tuple[str, ...]
    of_part: tuple[str, ...]
    rules: tuple[Rule, ...]


def place(fact: str) -> pl.Expr:
    """A fact of the place."""
    return pl.col(f"place_{fact}")


def part(fact: str) -> pl.Expr:
    """A fact of the part that may go in."""
    return pl.col(f"part_{fact}")


def say(template: str, *values: pl.Expr) -> pl.Expr:
    """A sentence with values in the places of `{}`."""
    return filled(template, *values) if values else pl.lit(template)


def unknown(
    fact: str, *, of_place: str, of_part: str, measure: str, verdict: str = CARE
) -> tuple[Rule, Rule]:
    """The two rules for a number that has to be known on both sides and is not."""
    return (
        Rule(place(fact).is_null(), verdict, say(of_place), RECORDS, (measure,)),
        Rule(part(fact).is_null(), verdict, say(of_part), RECORDS, (f"{measure} of the part",)),
    )
