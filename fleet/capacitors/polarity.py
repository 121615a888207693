"""Polarity: places that take either way round, and which end of a place is which."""

import polars as pl

from fleet.capacitors.rule import (
    CARE,
    FITS,
    PRACTICE,
    REFUSED,
    Point,
    Rule,
    part,
    place,
    say,
)

_between_lines = place("x_class").is_not_null() | place("y_class").is_not_null()
_either_way = place("non_polar") | _between_lines

POLARITY = Point(
    "polarity",
    ("non_polar", "x_class", "y_class"),
    ("non_polar",),
    (
        Rule(
            _either_way & ~part("non_polar"),
            REFUSED,
            say("the place takes voltage either way round and the part is not marked as non-polar"),
            PRACTICE,
        ),
        Rule(
            place("non_polar") & part("non_polar"),
            FITS,
            say("non-polar, as the place asks for"),
            PRACTICE,
        ),
        Rule(
            part("non_polar") & ~_between_lines,
            FITS,
            say("a non-polar part may go in either way round, also where polarity is marked"),
            PRACTICE,
        ),
    ),
)

# Which way round: a question to the board, not to the part.
ORIENTATION = Point(
    "orientation",
    ("ground_referenced", "non_polar", "x_class", "y_class"),
    ("non_polar", "kind"),
    (
        Rule(
            _either_way | part("non_polar"),
            FITS,
            pl.lit(None, dtype=pl.String),
            PRACTICE,
        ),
        Rule(
            place("ground_referenced") == pl.lit(value=False),
            CARE,
            say(
                "both ends of the place carry voltage: read from the board which is positive "
                "before the old part comes out, and never take either for ground"
            ),
            PRACTICE,
        ),
        Rule(
            place("ground_referenced").is_null(),
            CARE,
            say(
                "whether the place is tied to ground is not recorded: read from the board which "
                "end is positive before the old part comes out"
            ),
            PRACTICE,  # nothing to measure before ordering: any part may have to go in with care
        ),
        Rule(
            place("ground_referenced"),
            FITS,
            say("one end is tied to ground: the negative one, which reads about 0 V"),
            PRACTICE,
        ),
    ),
)
