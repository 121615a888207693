"""How to choose a resistor that takes the charge out of a capacitor. METHODS: discharge.

A rule and its arithmetic, never one value for all: published values disagree. Whether anybody may
do this, and whether it was done, is for the rules of the place and a proved meter to say.
"""

import math
from dataclasses import dataclass

from fleet.errors import BadInput

TIME_CONSTANTS = 5.0  # exp(-5) is 0.7 %: below a hundredth of what was there
RATINGS_W = (2.0, 5.0, 10.0)  # powers that resistors are sold for
# IEC 60063 E12, from memory.
_E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistor that may discharge a capacitor: what the rule asks, and the next usual value."""

    power_w: float
    least_ohm: float  # V^2 / P
    ohm: float  # the next value of E12
    seconds: float  # TIME_CONSTANTS x R x C with `ohm`
    volts_left: float  # after that time, by the exponential alone


@dataclass(frozen=True, slots=True)
class Discharge:
    """What one capacitor can hold, and the resistors that may empty it."""

    farads: float  # the largest it may have: marked value and its tolerance above
    volts: float  # the most it may carry: its rated voltage
    joules: float
    resistors: tuple[Resistor, ...]


def discharge(
    farads: float,
    volts: float,
    *,
    tolerance: float = 0.2,
    ratings_w: tuple[float, ...] = RATINGS_W,
) -> Discharge:
    """Resistors for a capacitor of `farads` marked `volts`; `tolerance` 0.2 means up to 20 % more.

    R >= V^2 / P, so that even at the first moment the resistor takes no more than its rating, and
    5 R C until less than a hundredth is left. Rated voltage and upper tolerance make it the worst
    case. Raises BadInput for numbers that are not above zero.
    """
    for name, value in (("capacitance", farads), ("voltage", volts), *_named(ratings_w)):
        if not (math.isfinite(value) and value > 0.0):
            raise BadInput(f"the {name} is {value:g}; give a number above zero")
    most = farads * (1.0 + max(tolerance, 0.0))
    return Discharge(
        farads=most,
        volts=volts,
        joules=0.5 * most * volts**2,
        resistors=tuple(_resistor(most, volts, power) for power in ratings_w),
    )


def next_usual_value(ohm: float) -> float:
    """The smallest value of E12 that is no smaller than `ohm`."""
    decade = 10.0 ** math.floor(math.log10(ohm))
    steps = (*(step * decade for step in _E12), 10.0 * decade)
    # A value that is itself of the series must not be pushed up by its last binary digit.
    return next(value for value in steps if value >= ohm * (1.0 - 1e-9))


def _resistor(farads: float, volts: float, power: float) -> Resistor:
    least = volts**2 / power
    ohm = next_usual_value(least)
    return Resistor(
        power_w=power,
        least_ohm=least,
        ohm=ohm,
        seconds=TIME_CONSTANTS * ohm * farads,
        volts_left=volts * math.exp(-TIME_CONSTANTS),
    )


def _named(ratings_w: tuple[float, ...]) -> tuple[tuple[str, float], ...]:
    return tuple(("resistor's power", power) for power in ratings_w)
