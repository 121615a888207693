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
_POSITIVE_ON_GROUND = (
    r"(?i)(?:positive|plus)[^.;]*(?:ground|gnd|earth|chassis)|(?:ground|gnd)[^.;]*(?:positive|plus)"
    r"|negative (?:rail|supply)|minus \d+\s?V"
)
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

_noted = pl.coalesce(say("; noted there: {}", place("end_note")), pl.lit(""))
_tied = place("ground_referenced").fill_null(value=False) | place("grounded_end").is_not_null()

# Which way round: a question to the board, not to the part. What somebody wrote of the ends is
# repeated, never argued with.
ORIENTATION = Point(
    "orientation",
    ("ground_referenced", "grounded_end", "end_note", "non_polar", "x_class", "y_class"),
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
                "before the old part comes out, and never take either for ground{}",
                _noted,
            ),
            PRACTICE,
        ),
        Rule(
            ~_tied,
            CARE,
            say(
                "whether the place is tied to ground is not recorded: read from the board which "
                "end is positive before the old part comes out{}",
                _noted,
            ),
            PRACTICE,  # nothing to measure before ordering: any part may have to go in with care
        ),
        Rule(
            place("grounded_end") == "positive",
            CARE,
            say(
                "the POSITIVE end is tied to ground, as on a negative rail, and the negative end "
                "carries the voltage: a part fitted as elsewhere goes in backwards and may vent{}",
                _noted,
            ),
            PRACTICE,
        ),
        Rule(
            place("grounded_end").is_null(),
            CARE,
            say(
                "one end is tied to ground, which of the two is not recorded: see which end before "
                "the old part comes out (usually the negative; on a negative rail the positive){}",
                _noted,
            ),
            PRACTICE,
        ),
        Rule(
            place("end_note").str.contains(_POSITIVE_ON_GROUND).fill_null(value=False),
            CARE,
            say(
                "the record names the negative end as the one tied to ground, a note speaks "
                "of the positive one: see which end before the old part comes out{}",
                _noted,
            ),
            PRACTICE,
        ),
        Rule(
            pl.lit(value=True),
            FITS,
            say("the negative end is tied to ground and reads about 0 V{}", _noted),
            PRACTICE,
        ),
    ),
)
