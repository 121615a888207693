"""What kind of capacitor goes in where another kind was."""

import polars as pl

from fleet.capacitors.marks import mark_of
from fleet.capacitors.rule import (
    CARE,
    FITS,
    PRACTICE,
    RECORDS,
    REFUSED,
    Point,
    Rule,
    part,
    place,
    say,
)
from fleet.capacitors.values import number_said

_marks = (mark_of(place), mark_of(part))
_MIND = "; mind the marks: on the old part {}; on the new one {}"
_safety = place("x_class").is_not_null() | place("y_class").is_not_null()
_wet = place("kind") == "aluminium"
_solid = place("kind").is_in(["tantalum", "polymer", "hybrid"])


def _to(*kinds: str) -> pl.Expr:
    return part("kind").is_in(list(kinds))


TECHNOLOGY = Point(
    "technology",
    ("kind", "use", "voltage", "esr_told", "x_class", "y_class", "lead_form", "technology"),
    ("kind", "voltage", "esr_told", "lead_form", "technology"),
    (
        Rule(
            _safety & (part("kind").is_null() | _to("film", "ceramic")),
            FITS,
            pl.lit(None, dtype=pl.String),
            RECORDS,
        ),
        Rule(
            _safety,
            REFUSED,
            say(
                "{} between mains lines or to earth: safety capacitors are film or ceramic",
                part("kind"),
            ),
            PRACTICE,
        ),
        Rule(
            place("kind") == part("kind"),
            FITS,
            say("{}, as the original", part("kind")),
            RECORDS,
        ),
        Rule(
            part("kind").is_null(),
            CARE,
            say("what kind of capacitor it is (aluminium, polymer, tantalum, film) is not told"),
            RECORDS,
            ("technology of the part",),
        ),
        Rule(
            place("kind").is_in(["film", "ceramic"])
            & _to("aluminium", "polymer", "hybrid", "tantalum"),
            REFUSED,
            say("the original is {}: an electrolytic leaks and has a polarity", place("kind")),
            PRACTICE,
        ),
        Rule(
            place("kind").is_null() & _to("aluminium"),
            CARE,
            say("what kind the original is was not recorded; aluminium goes in only for aluminium"),
            RECORDS,
            ("technology",),
        ),
        Rule(
            _to("tantalum") & ~_solid.fill_null(value=False) & (place("use") == "rectifier"),
            REFUSED,
            say(
                "a tantalum part behind a rectifier: the rush of current at switching on can set "
                "it on fire"
            ),
            PRACTICE,
        ),
        Rule(
            _to("tantalum")
            & ~(place("kind") == "tantalum").fill_null(value=False)
            & (part("voltage") < 2.0 * place("voltage")),
            CARE,
            say(
                "tantalum for another kind: it stands no surge, so what the place really carries "
                "may be at most half of its {} V" + _MIND,
                number_said(part("voltage")),
                *_marks,
            ),
            PRACTICE,
            ("voltage in operation",),
        ),
        Rule(
            _to("tantalum") & (_wet | place("kind").is_null()),
            CARE,
            say("tantalum for another kind: it stands no surge" + _MIND, *_marks),
            PRACTICE,
        ),
        Rule(
            _to("polymer", "hybrid") & (_wet | place("kind").is_null()) & (place("use") == "value"),
            CARE,
            say(
                "polymer leaks more than a wet aluminium part: where a time or a level hangs on "
                "the capacitor that shifts it" + _MIND,
                *_marks,
            ),
            PRACTICE,
        ),
        Rule(
            _to("polymer", "hybrid") & (_wet | place("kind").is_null()),
            CARE,
            say(
                "polymer for wet aluminium: a much lower ESR, more leakage, no reserve above its "
                "rated voltage; good at outputs, not behind every regulator" + _MIND,
                *_marks,
            ),
            PRACTICE,
        ),
        Rule(
            (place("kind") == "tantalum") & _to("aluminium"),
            CARE,
            say(
                "aluminium for tantalum: larger, with a higher ESR and more leakage" + _MIND,
                *_marks,
            ),
            PRACTICE,
        ),
        Rule(
            place("kind").is_in(["polymer", "hybrid"])
            & _to("aluminium")
            & ~(place("esr_told") & part("esr_told")),
            REFUSED,
            say(
                "wet aluminium for {}: its ESR is higher, by how much is not known",
                place("kind"),
            ),
            PRACTICE,
        ),
        Rule(
            _solid & _to("aluminium", "tantalum", "polymer", "hybrid"),
            CARE,
            say(
                "{} for {}: compare ESR, leakage and surge" + _MIND,
                part("kind"),
                place("kind"),
                *_marks,
            ),
            PRACTICE,
        ),
        Rule(
            _to("ceramic"),
            CARE,
            say(
                "ceramic for an electrolytic: it loses much of its capacitance under voltage, and "
                "its ESR is very low"
            ),
            PRACTICE,
        ),
        Rule(
            _to("film"),
            CARE,
            say("film for an electrolytic: good, but larger, and its ESR is low"),
            PRACTICE,
        ),
    ),
)
