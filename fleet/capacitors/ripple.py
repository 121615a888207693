"""Ripple current and ESR of a part against the original's. METHODS: stand-ins."""

from fleet.capacitors.rule import (
    CARE,
    FITS,
    OWN_RULE,
    PRACTICE,
    REFUSED,
    Point,
    Rule,
    part,
    place,
    say,
)
from fleet.capacitors.values import number_said

MUCH_LOWER = 1.0 / 3.0  # ESR of the part over the original's that may upset a regulator
NEARLY = 0.1  # by how much a part may fall short where data sheets differ in frequency

_amps = (number_said(part("ripple_ma")), number_said(place("ripple_ma")))
_ohms = (number_said(part("esr_ohm")), number_said(place("esr_ohm")))
_works = place("use").is_in(["rectifier", "supply", "regulator"])
_idle = place("use").is_in(["value", "line filter"])

RIPPLE = Point(
    "ripple",
    ("ripple_ma", "use"),
    ("ripple_ma",),
    (
        Rule(
            part("ripple_ma") >= place("ripple_ma"),
            FITS,
            say("stands {} mA of ripple, the original {} mA", *_amps),
            PRACTICE,
        ),
        Rule(
            _idle & (part("ripple_ma") < place("ripple_ma")),
            CARE,
            say("stands {} mA of ripple, the original {} mA; little flows in such a place", *_amps),
            PRACTICE,
        ),
        Rule(
            part("ripple_ma") >= place("ripple_ma") * (1.0 - NEARLY),
            CARE,
            say(
                "stands {} mA of ripple, a little under the original's {} mA: compare both at the "
                "same frequency and temperature",
                *_amps,
            ),
            OWN_RULE,
        ),
        Rule(
            part("ripple_ma") < place("ripple_ma"),
            REFUSED,
            say("stands {} mA of ripple, the original {} mA: it would run hotter", *_amps),
            PRACTICE,
        ),
        Rule(
            place("ripple_ma").is_not_null(),
            CARE,
            say(
                "its ripple rating is not told; the original stands {} mA: see the data sheet",
                _amps[1],
            ),
            PRACTICE,
            ("ripple of the part",),
        ),
        Rule(
            _works,
            CARE,
            say(
                "what ripple the original stands is not known: at a power supply take a part for "
                "high ripple and low impedance, not a general-purpose one"
            ),
            PRACTICE,
        ),
    ),
)

ESR = Point(
    "ESR",
    ("esr_ohm", "use"),
    ("esr_ohm", "kind"),
    (
        Rule(
            (place("use") == "regulator")
            & (
                (part("esr_ohm") < place("esr_ohm") * MUCH_LOWER)
                | (
                    part("kind").is_in(["polymer", "hybrid", "ceramic", "film"])
                    & place("esr_ohm").is_null()
                )
            ),
            CARE,
            say(
                "a much lower ESR behind a regulator can make it oscillate: see the regulator's "
                "data sheet for the ESR it asks for"
            ),
            PRACTICE,
        ),
        Rule(
            part("esr_ohm") <= place("esr_ohm"),
            FITS,
            say("ESR {} ohm, the original {} ohm", *_ohms),
            PRACTICE,
        ),
        Rule(
            part("esr_ohm") <= place("esr_ohm") * (1.0 + NEARLY),
            CARE,
            say(
                "ESR {} ohm, a little above the original's {} ohm: compare both at the same "
                "frequency and temperature",
                *_ohms,
            ),
            OWN_RULE,
        ),
        Rule(
            _idle & (part("esr_ohm") > place("esr_ohm")),
            CARE,
            say("ESR {} ohm, the original {} ohm; it matters little in such a place", *_ohms),
            PRACTICE,
        ),
        Rule(
            part("esr_ohm") > place("esr_ohm"),
            REFUSED,
            say("ESR {} ohm, above the original's {} ohm", *_ohms),
            PRACTICE,
        ),
        Rule(
            place("esr_ohm").is_not_null(),
            CARE,
            say("its ESR is not told; the original has {} ohm: see the data sheet", _ohms[1]),
            PRACTICE,
            ("ESR of the part",),
        ),
    ),
)
