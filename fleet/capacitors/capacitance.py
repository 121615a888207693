"""Capacitance of a part against what the place asks for. METHODS: stand-ins."""

from fleet.capacitors.preferred_values import is_preferred, preferred
from fleet.capacitors.rule import (
    CARE,
    FITS,
    IEC_60063,
    IEC_60384_14,
    NOT_KNOWN,
    OWN_RULE,
    PRACTICE,
    RECORDS,
    REFUSED,
    Point,
    Rule,
    part,
    place,
    say,
    unknown,
)
from fleet.capacitors.values import farads_said

# How many times the capacitance a supply may get before the part is refused outright.
MOST = 3.0
_NEAR = 1e-6

_asked, _given = place("capacitance_f"), part("capacitance_f")
_asked_said, _given_said = place("capacitance_said"), part("capacitance_said")
_range = (farads_said(place("low_f")), farads_said(place("high_f")))
_same = (_given / _asked - 1.0).abs() < _NEAR
_inside = (_given >= place("low_f") * (1.0 - _NEAR)) & (_given <= place("high_f") * (1.0 + _NEAR))
_wholly = (part("low_f") >= place("low_f") * (1.0 - _NEAR)) & (
    part("high_f") <= place("high_f") * (1.0 + _NEAR)
)
# Nearest of the values that are made: E6 for most, E12 for some.
_nearest = ((_given / preferred(_asked, "E6") - 1.0).abs() < _NEAR) | (
    (_given / preferred(_asked, "E12") - 1.0).abs() < _NEAR
)
_made_no_more = place("old_value") & is_preferred(_given)
_where_value_matters = place("use").is_in(["value", "line filter"]) | place("x_class").is_not_null()
_above = _given > place("high_f")

_place_unread = Rule(
    place("capacitance").is_not_null() & _asked.is_null(),
    NOT_KNOWN,
    say("the place asks for {}, which does not name one capacitance", place("capacitance")),
    RECORDS,
    ("capacitance",),
)
_part_unread = Rule(
    part("capacitance").is_not_null() & _given.is_null(),
    NOT_KNOWN,
    say("the part is listed as {}, which does not name one capacitance", part("capacitance")),
    RECORDS,
    ("capacitance of the part",),
)

CAPACITANCE = Point(
    "capacitance",
    (
        *("capacitance", "capacitance_f", "capacitance_said", "low_f", "high_f", "old_value"),
        *("use", "x_class", "y_class"),
    ),
    ("capacitance", "capacitance_f", "capacitance_said", "low_f", "high_f"),
    (
        _place_unread,
        _part_unread,
        *unknown(
            "capacitance_f",
            of_place="no capacitance is recorded for the place: read it off the old part's sleeve",
            of_part="its facts are not known: no capacitance is told for the part",
            measure="capacitance",
            verdict=NOT_KNOWN,
        ),
        Rule(
            place("y_class").is_not_null() & (_given > _asked * (1.0 + _NEAR)),
            REFUSED,
            say(
                "{} is more than {}: between line and earth it lets more touch current through",
                _given_said,
                _asked_said,
            ),
            IEC_60384_14,
        ),
        Rule(_same, FITS, say("{}, as the place asks for", _given_said), RECORDS),
        Rule(
            _inside & _nearest & _made_no_more,
            FITS,
            say(
                "{} is made no more; {} is the nearest value that is, within {} to {}",
                _asked_said,
                _given_said,
                *_range,
            ),
            IEC_60063,
        ),
        Rule(
            _inside
            & _made_no_more
            & (_given > _asked)
            & (place("use").is_null() | ~_where_value_matters),
            FITS,
            say(
                "{} is made no more; {} is the value above it, within {} to {}",
                _asked_said,
                _given_said,
                *_range,
            ),
            IEC_60063,
        ),
        Rule(
            _wholly,
            FITS,
            say("{} by its tolerance stays within {} to {}", _given_said, *_range),
            RECORDS,
        ),
        Rule(
            _inside,
            CARE,
            say(
                "{} instead of {}: the value printed lies within {} to {}, by its own tolerance "
                "it may lie outside",
                _given_said,
                _asked_said,
                *_range,
            ),
            PRACTICE,
        ),
        Rule(
            _nearest & _made_no_more,
            CARE,
            say(
                "{} is made no more; {} is the nearest value that is, though outside {} to {}",
                _asked_said,
                _given_said,
                *_range,
            ),
            IEC_60063,
        ),
        Rule(
            _given < _asked,
            REFUSED,
            say("{} is below the {} to {} that the place takes", _given_said, *_range),
            PRACTICE,
        ),
        Rule(
            _above & _where_value_matters.fill_null(value=False),
            REFUSED,
            say(
                "{} is above the {} to {} that the place takes, and here the value itself matters",
                _given_said,
                *_range,
            ),
            PRACTICE,
        ),
        Rule(
            _given > _asked * MOST * (1.0 + _NEAR),
            REFUSED,
            say(f"{{}} is more than {MOST:g} times {{}}", _given_said, _asked_said),
            OWN_RULE,
        ),
        Rule(
            place("use") == "rectifier",
            CARE,
            say(
                "{} instead of {} behind a rectifier: more current rushes in at switching on; "
                "see that rectifier, fuse and switch stand it",
                _given_said,
                _asked_said,
            ),
            PRACTICE,
        ),
        Rule(
            place("use").is_in(["supply", "regulator"]),
            CARE,
            say(
                "{} instead of {}: the supply starts more slowly and gives more current while it "
                "does",
                _given_said,
                _asked_said,
            ),
            PRACTICE,
        ),
        Rule(
            _above,
            CARE,
            say(
                "{} instead of {}, more than the {} to {} that the place takes: find out what it "
                "does first; it must not be where the value sets a time or a tone",
                _given_said,
                _asked_said,
                *_range,
            ),
            PRACTICE,
            ("what the place does",),
        ),
    ),
)
