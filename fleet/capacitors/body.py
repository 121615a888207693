"""Does the body go in: width, height under the cover, length between the bends, odd sizes.

`clearance_mm` of a place is how much larger the body may be than what is fitted, `headroom_mm`
the height above the board that the cover and the tallest neighbour allow.
"""

import polars as pl

from fleet.capacitors.rule import (
    CARE,
    FITS,
    PRACTICE,
    RECORDS,
    REFUSED,
    SHEETS,
    Point,
    Rule,
    part,
    place,
    say,
)
from fleet.capacitors.values import number_said

BEND_MM = 3.0  # height of a lead bent back down beside a standing axial part
# Sizes in which axial parts are commonly made, diameter and length in mm. From memory.
_COMMON_AXIAL = (
    *((5.0, 11.0), (6.3, 12.5), (6.5, 18.0), (8.0, 12.5), (8.0, 16.0), (8.0, 18.0), (10.0, 16.0)),
    *((10.0, 18.0), (10.0, 20.0), (10.0, 25.0), (12.5, 20.0), (12.5, 25.0), (12.5, 30.0)),
    *((13.0, 21.0), (13.0, 26.0), (15.0, 30.0), (16.0, 26.0), (16.0, 32.0), (16.0, 40.0)),
    *((18.0, 30.0), (18.0, 38.0), (21.0, 38.0), (22.0, 40.0), (25.0, 40.0)),
)
_OFF_DIAMETER, _OFF_LENGTH = 0.4, 1.0  # how far a size may lie from a listed one and be the same

_wide = (number_said(part("diameter_mm")), number_said(place("diameter_mm")))
_long = (number_said(part("length_mm")), number_said(place("length_mm")))
_free = number_said(place("clearance_mm"))

_lies = (part("lead_form") == "axial") & (place("lead_form") == "axial")
_on_end = (part("lead_form") == "axial") & (place("lead_form") != "axial")
_high = (
    pl.when(_lies)
    .then(part("diameter_mm"))
    .when(_on_end)
    .then(part("length_mm") + BEND_MM)
    .otherwise(part("length_mm"))
)
_was_high = (
    pl.when(_lies)
    .then(place("diameter_mm"))
    .when(place("lead_form") != "axial")
    .then(place("length_mm"))
)
# Room above the vent by diameter (makers' data sheets, from memory); smaller cans have none.
_vent = (
    pl.when(_lies | (part("diameter_mm") < 6.3))
    .then(0.0)
    .when(part("kind").fill_null("aluminium") != "aluminium")
    .then(0.0)
    .when(part("diameter_mm") < 18.0)
    .then(2.0)
    .otherwise(3.0)
)


def _common_axial(diameter: pl.Expr, length: pl.Expr) -> pl.Expr:
    return pl.any_horizontal(
        ((diameter - d).abs() <= _OFF_DIAMETER) & ((length - n).abs() <= _OFF_LENGTH)
        for d, n in _COMMON_AXIAL
    )


DIAMETER = Point(
    "diameter",
    ("diameter_mm", "clearance_mm"),
    ("diameter_mm",),
    (
        Rule(
            part("diameter_mm").is_null(),
            CARE,
            say("the part's diameter is not told"),
            RECORDS,
            ("diameter of the part",),
        ),
        Rule(
            place("diameter_mm").is_null(),
            CARE,
            say("{} mm across; how wide the place is was not measured", _wide[0]),
            RECORDS,
            ("diameter",),
        ),
        Rule(
            part("diameter_mm") <= place("diameter_mm"),
            FITS,
            say("{} mm across, the original {} mm", *_wide),
            RECORDS,
        ),
        Rule(
            part("diameter_mm") <= place("diameter_mm") + place("clearance_mm"),
            FITS,
            say("{} mm across, the original {} mm with {} mm free beside it", *_wide, _free),
            RECORDS,
        ),
        Rule(
            place("clearance_mm").is_not_null(),
            REFUSED,
            say("{} mm across; the original's {} mm and {} mm beside it are all", *_wide, _free),
            RECORDS,
        ),
        Rule(
            place("clearance_mm").is_null(),
            CARE,
            say("{} mm across, wider than the original's {} mm: measure the room", *_wide),
            PRACTICE,
            ("clearance",),
        ),
    ),
)

HEIGHT = Point(
    "height",
    ("diameter_mm", "length_mm", "lead_form", "clearance_mm", "headroom_mm"),
    ("diameter_mm", "length_mm", "lead_form", "kind"),
    (
        Rule(
            _high.is_null() & ~_lies,
            CARE,
            say("the part's length is not told"),
            RECORDS,
            ("length of the part",),
        ),
        Rule(_high.is_null(), CARE, say("how high it lies is not known"), RECORDS),
        Rule(
            _high > place("headroom_mm"),
            REFUSED,
            say(
                "{} mm high; cover and tallest neighbour allow {} mm",
                number_said(_high),
                number_said(place("headroom_mm")),
            ),
            RECORDS,
        ),
        Rule(
            (_high + _vent > place("headroom_mm")) & ~(_high <= _was_high).fill_null(value=False),
            CARE,
            say(
                "{} mm high under {} mm: its vent wants {} mm free above it",
                number_said(_high),
                number_said(place("headroom_mm")),
                number_said(_vent),
            ),
            SHEETS,
        ),
        Rule(
            place("headroom_mm").is_not_null(),
            FITS,
            say(
                "{} mm high; cover and tallest neighbour allow {} mm",
                number_said(_high),
                number_said(place("headroom_mm")),
            ),
            RECORDS,
        ),
        Rule(
            _high <= _was_high,
            FITS,
            say("{} mm high, the original {} mm", number_said(_high), number_said(_was_high)),
            RECORDS,
        ),
        Rule(
            _high <= _was_high + place("clearance_mm"),
            FITS,
            say(
                "{} mm high, the original {} mm with {} mm free above it",
                number_said(_high),
                number_said(_was_high),
                _free,
            ),
            RECORDS,
        ),
        Rule(
            _was_high.is_not_null(),
            CARE,
            say(
                "{} mm high, the original {} mm: measure the height under the cover",
                number_said(_high),
                number_said(_was_high),
            ),
            PRACTICE,
            ("headroom",),
        ),
        Rule(
            _high.is_not_null(),
            CARE,
            say("{} mm high: measure the height under the cover", number_said(_high)),
            PRACTICE,
            ("headroom",),
        ),
    ),
)

# Of axial parts lying on the board.
LENGTH = Point(
    "length",
    ("length_mm", "lead_form", "clearance_mm"),
    ("length_mm", "lead_form"),
    (
        Rule(
            _lies & part("length_mm").is_null(),
            CARE,
            say("the part's length is not told"),
            RECORDS,
            ("length of the part",),
        ),
        Rule(
            _lies & place("length_mm").is_null(),
            CARE,
            say("{} mm long; how long the place is was not measured", _long[0]),
            RECORDS,
            ("length",),
        ),
        Rule(
            _lies & (part("length_mm") <= place("length_mm")),
            FITS,
            say("{} mm long, the original {} mm", *_long),
            RECORDS,
        ),
        Rule(
            _lies & (part("length_mm") <= place("length_mm") + place("clearance_mm")),
            FITS,
            say("{} mm long, the original {} mm with {} mm free", *_long, _free),
            RECORDS,
        ),
        Rule(
            _lies & place("clearance_mm").is_not_null(),
            REFUSED,
            say("{} mm long; the original's {} mm and {} mm beside it are all", *_long, _free),
            RECORDS,
        ),
        Rule(
            _lies,
            CARE,
            say("{} mm long, longer than the original's {} mm: measure the room", *_long),
            PRACTICE,
            ("clearance",),
        ),
    ),
)

UNCOMMON_BODY = Point(
    "size",
    ("diameter_mm", "length_mm", "lead_form", "clearance_mm"),
    ("diameter_mm", "length_mm", "lead_form"),
    (
        Rule(
            _lies
            & place("clearance_mm").is_null()
            & ~_common_axial(part("diameter_mm"), part("length_mm")),
            CARE,
            say(
                "{} x {} mm is an uncommon axial size, and bodies of one size differ: measure the "
                "clearance before ordering",
                _wide[0],
                _long[0],
            ),
            PRACTICE,
            ("clearance",),
        ),
        Rule(
            _lies
            & place("clearance_mm").is_null()
            & ~_common_axial(place("diameter_mm"), place("length_mm")),
            CARE,
            say(
                "the place is made for {} x {} mm, an uncommon axial size: measure the clearance "
                "before ordering another",
                _wide[1],
                _long[1],
            ),
            PRACTICE,
            ("clearance",),
        ),
    ),
)
