"""Direct or alternating current: what the volts of a place and of a part are of.

A film part for 400 V of direct current does not stand 400 V of alternating current, and no
electrolytic does. METHODS: stand-ins.
"""

import polars as pl

from fleet.capacitors.rule import CARE, FITS, PRACTICE, REFUSED, Rule, part, place, say
from fleet.capacitors.values import number_said

ELECTROLYTIC = ("aluminium", "polymer", "hybrid", "tantalum")
_SAYS_AC = r"(?i)\d\s*V\s*(?:AC\b|~)|\bVAC\b|\bAC\b|alternating"
_SAYS_DC = r"(?i)\d\s*V\s*DC\b|\bVDC\b"
_MOTOR = r"(?i)motor[-\s]?(?:run|start)|(?:run|start|running|starting)[-\s]capacitor"
_MAINS = r"(?i)mains|motor|suppress|line filter|(?:across|between) the lines?\b"


def with_current(frame: pl.DataFrame) -> pl.DataFrame:
    """`frame` of places or parts with `current` (dc, ac) as recorded, else as its texts or kind say
    it, and `may_be_ac`: nobody said, and it is film, at the mains, at a motor or of class X or Y.

    Needs kind, non_polar, x_class and y_class of fleet.capacitors.facts.
    """
    text = pl.concat_str("role", "notes", "technology", "series", separator="; ", ignore_nulls=True)
    one_way = pl.col("kind").is_in(ELECTROLYTIC).fill_null(value=False) & ~pl.col("non_polar")
    motor = text.str.contains(_MOTOR).fill_null(value=False)
    told = (
        pl.when(text.str.contains(_SAYS_AC) & ~one_way)
        .then(pl.lit("ac"))
        .when(text.str.contains(_SAYS_DC) | (one_way & ~motor))
        .then(pl.lit("dc"))
    )
    risky = (
        pl.col("x_class").is_not_null()
        | pl.col("y_class").is_not_null()
        | (pl.col("kind") == "film").fill_null(value=False)
        | text.str.contains(_MAINS).fill_null(value=False)
        | motor
    )
    return frame.with_columns(
        current=pl.coalesce(pl.col("current").str.to_lowercase(), told)
    ).with_columns(may_be_ac=pl.col("current").is_null() & risky)


_volts = (number_said(part("voltage")), number_said(place("voltage")))
_ac = place("current") == "ac"
# X and Y classes are rated in alternating current (IEC 60384-14, from memory).
_not_told = part("current").is_null() & part("x_class").is_null() & part("y_class").is_null()

# Before volts are compared: whatever they are.
NEVER_IN_AC = (
    Rule(
        _ac & part("kind").is_in(ELECTROLYTIC),
        REFUSED,
        say("the place carries alternating current: an electrolytic never goes in"),
        PRACTICE,
    ),
    Rule(
        _ac & (part("current") == "dc"),
        REFUSED,
        say(
            "rated for {} V of direct current, and the place carries alternating current: such a "
            "rating says nothing of what it stands there",
            pl.coalesce(_volts[0], pl.lit("an unknown number of")),
        ),
        PRACTICE,
    ),
)
# After lower volts are refused: equal numbers, or higher ones, of what?
SAME_CURRENT = (
    Rule(
        place("may_be_ac"),
        CARE,
        say(
            "whether the place's {} V are of direct or of alternating current is not recorded: "
            "measure or ask first; a part for {} V of direct current may fail at as many volts of "
            "alternating current",
            _volts[1],
            _volts[0],
        ),
        PRACTICE,
        ("current",),
    ),
    Rule(
        _ac & _not_told,
        CARE,
        say(
            "whether the part's {} V are of direct or of alternating current is not told, and the "
            "place carries alternating current: ask first",
            _volts[0],
        ),
        PRACTICE,
        ("current of the part",),
    ),
    Rule(
        _ac,
        FITS,
        say("rated for {} V of alternating current, for the original's {} V of it", *_volts),
        PRACTICE,
    ),
    Rule(
        (place("current") == "dc") & (part("current") == "ac"),
        CARE,
        say(
            "rated for {} V of alternating current in a place of {} V of direct current: look up "
            "what direct voltage it stands",
            *_volts,
        ),
        PRACTICE,
    ),
)
