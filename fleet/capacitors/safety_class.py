"""X and Y capacitors of mains filters: replaced by their class only (IEC 60384-14).

X between the lines, Y from a line to earth. Within a letter class 1 stands in for 2 and 3, never
the other way round; Y3 and Y4 are not classes of one another. A part needs the letter itself: a Y
part in an X place, too, must be marked X (a part may carry both).
"""

import polars as pl

from fleet.capacitors.rule import (
    CARE,
    FITS,
    IEC_60384_14,
    REFUSED,
    Point,
    Rule,
    part,
    place,
    say,
)

_x, _y = place("x_class"), place("y_class")
_x_good = _x.is_null() | (part("x_class") <= _x).fill_null(value=False)
_y_good = _y.is_null() | (
    (part("y_class") <= _y) & ((part("y_class") <= 2) | (part("y_class") == _y))
).fill_null(value=False)
_asked = _x.is_not_null() | _y.is_not_null()
_named = pl.coalesce(part("safety_class"), pl.lit("no class"))

SAFETY_CLASS = Point(
    "safety class",
    ("safety_class", "x_class", "y_class", "use"),
    ("safety_class", "x_class", "y_class"),
    (
        Rule(
            place("safety_class").is_not_null() & ~_asked,
            REFUSED,
            say(
                "the place asks for class {}, which is no class of the standard",
                place("safety_class"),
            ),
            IEC_60384_14,
            ("safety class",),
        ),
        Rule(
            _asked & _x_good & _y_good,
            FITS,
            say(
                "class {} in a place for {}; it must bear the approval marks that local rules ask "
                "for",
                _named,
                place("safety_class"),
            ),
            IEC_60384_14,
        ),
        Rule(
            _asked & part("safety_class").is_null(),
            REFUSED,
            say(
                "the place takes a safety capacitor of class {} only, and the part has no class",
                place("safety_class"),
            ),
            IEC_60384_14,
        ),
        Rule(
            _asked,
            REFUSED,
            say("class {} does not stand in for class {}", _named, place("safety_class")),
            IEC_60384_14,
        ),
        Rule(
            place("use") == "line filter",
            CARE,
            say(
                "by its role the place lies between the lines of the mains or to earth, and no "
                "safety class is recorded: only its class may go in"
            ),
            IEC_60384_14,
            ("safety class",),
        ),
    ),
)
