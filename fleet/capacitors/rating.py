"""Voltage, temperature and hours a part is rated for: never below the original's."""

from fleet.capacitors.current import NEVER_IN_AC, SAME_CURRENT
from fleet.capacitors.preferred_values import voltage_from
from fleet.capacitors.rule import (
    CARE,
    FITS,
    NOT_KNOWN,
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
from fleet.capacitors.values import number_said

_volts = (number_said(part("voltage")), number_said(place("voltage")))
_degrees = (number_said(part("temperature")), number_said(place("temperature")))
_hours = (number_said(part("rated_hours")), number_said(place("rated_hours")))
_next = voltage_from(place("voltage"))

VOLTAGE = Point(
    "voltage",
    ("voltage", "current", "may_be_ac"),
    ("voltage", "current", "kind", "x_class", "y_class"),
    (
        *NEVER_IN_AC,
        *unknown(
            "voltage",
            of_place="no voltage is recorded for the place: read it off the old part's sleeve",
            of_part="its facts are not known: no rated voltage is told for the part",
            measure="voltage",
            verdict=NOT_KNOWN,
        ),
        Rule(
            (part("voltage") < place("voltage")) & _next.is_not_null(),
            REFUSED,
            say(
                "rated for {} V, below the original's {} V; look for {} V or more",
                *_volts,
                number_said(_next),
            ),
            PRACTICE,
        ),
        Rule(
            part("voltage") < place("voltage"),
            REFUSED,
            say("rated for {} V, below the original's {} V", *_volts),
            PRACTICE,
        ),
        *SAME_CURRENT,
        Rule(
            part("voltage") == place("voltage"),
            FITS,
            say("rated for {} V, as the original", _volts[0]),
            PRACTICE,
        ),
        Rule(
            part("voltage") > place("voltage"),
            FITS,
            say("rated for {} V, above the original's {} V", *_volts),
            PRACTICE,
        ),
    ),
)

TEMPERATURE = Point(
    "temperature",
    ("temperature", "use"),
    ("temperature",),
    (
        *unknown(
            "temperature",
            of_place="no temperature rating is recorded for the place: read it off the old part",
            of_part="no temperature rating is told for the part",
            measure="temperature",
        ),
        Rule(
            (part("temperature") < place("temperature"))
            & place("use").is_in(["rectifier", "supply", "regulator"]),
            REFUSED,
            say(
                "rated for {} °C, below the original's {} °C, and right at the power supply, "
                "where it is hottest",
                *_degrees,
            ),
            PRACTICE,
        ),
        Rule(
            part("temperature") < place("temperature"),
            REFUSED,
            say("rated for {} °C, below the original's {} °C", *_degrees),
            PRACTICE,
        ),
        Rule(
            part("temperature") == place("temperature"),
            FITS,
            say("rated for {} °C, as the original", _degrees[0]),
            PRACTICE,
        ),
        Rule(
            part("temperature") > place("temperature"),
            FITS,
            say("rated for {} °C, above the original's {} °C", *_degrees),
            PRACTICE,
        ),
    ),
)

# Nothing is said where one of the two is unknown: few originals tell theirs.
ENDURANCE = Point(
    "endurance",
    ("rated_hours", "temperature"),
    ("rated_hours", "temperature"),
    (
        Rule(
            (part("rated_hours") < place("rated_hours"))
            & (part("temperature") > place("temperature")),
            FITS,
            say(
                "rated for {} h at {} °C, the original for {} h at {} °C: not the same test, so "
                "compare lives by the ten-kelvin rule",
                _hours[0],
                _degrees[0],
                _hours[1],
                _degrees[1],
            ),
            PRACTICE,
        ),
        Rule(
            part("rated_hours") < place("rated_hours"),
            CARE,
            say("rated for {} h, the original for {} h: it will be due again sooner", *_hours),
            PRACTICE,
        ),
        Rule(
            part("rated_hours") >= place("rated_hours"),
            FITS,
            say("rated for {} h, the original for {} h", *_hours),
            RECORDS,
        ),
    ),
)
