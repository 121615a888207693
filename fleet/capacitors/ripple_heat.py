"""Ripple current and the heat it makes: two published forms, and ripple at several frequencies.

METHODS: part-life
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fleet.errors import BadInput

CORE_RISE_K = 5.0  # kelvin at rated ripple; most series (Rubycon lifetime sheet: 10, 5 or 3.5)
# Core over can-top rise by diameter in mm (the same sheet); between two the wider counts.
_CORE_OVER_CAN = ((8, 1.0), (12.5, 1.1), (18, 1.2), (22, 1.3), (25, 1.4), (30, 1.5), (35, 1.6))
_HOT_GRADE_C = 105.0
# Our own rules: how far the form beyond the rated ripple is followed (three times it, nine times
# the heat), and the currents and factors that are read at all.
MOST_SHARE = 3.0
_MOST_MA = 1_000_000.0
_FACTORS = (0.01, 100.0)


@dataclass(frozen=True, slots=True)
class Ripple:
    """One component of a ripple current: mA, and the catalogue's factor at its frequency."""

    ma: float
    frequency_factor: float = 1.0


def joined_ripple(components: Iterable[Ripple]) -> float:
    """Several components as one, in mA at the frequency of the rating: sqrt(sum (I / factor)²).

    Raises BadInput for a component that is negative or above 1,000 A, and for a factor outside
    0.01 to 100.

    >>> round(joined_ripple([Ripple(300.0, 0.75), Ripple(300.0)]), 6)
    500.0
    """
    total = 0.0
    for one in components:
        if not (math.isfinite(one.ma) and one.ma >= 0.0):
            raise BadInput(f"a ripple current is {one.ma:g} mA; give zero or more")
        if one.ma > _MOST_MA:
            raise BadInput(
                f"a ripple current is {one.ma:g} mA; no more than {_MOST_MA:,.0f} mA is taken"
            )
        if not _FACTORS[0] <= one.frequency_factor <= _FACTORS[1]:
            raise BadInput(
                f"a frequency factor is {one.frequency_factor:g}; data sheets give one near 1 "
                f"({_FACTORS[0]:g} to {_FACTORS[1]:g} are taken)"
            )
        total += (one.ma / one.frequency_factor) ** 2
    return math.sqrt(total)


def factor_by_core_rise(share: float, core_rise_k: float = CORE_RISE_K) -> float:
    """Times the life at rated ripple, `share` of it flowing: Rubycon's lifetime sheet.

    2^(d0 / (10 - d0 / 4) - d / (10 - d / 4)), d = d0 share². Raises BadInput above the rated
    ripple, for which it is not made.
    """
    if share > 1.0:
        raise BadInput(
            f"the ripple is {share:.3g} times what the part is rated for; a maker's formula ends "
            "there, so choose a part rated for more"
        )
    core_rise = core_rise_k * share**2

    def cost(rise: float) -> float:
        return rise / (10.0 - 0.25 * rise)

    return float(2.0 ** (cost(core_rise_k) - cost(core_rise)))


def factor_by_ripple_base(share: float, rated_c: float, core_rise_k: float = CORE_RISE_K) -> float:
    """Times the life at rated ripple, `share` of it flowing: Albertsen (Jianghai), 2010.

    K^((1 - share²) d0 / 10) with K = 2, but 4 for a 105 °C part beyond its rated ripple. Raises
    BadInput above MOST_SHARE.
    """
    if share > MOST_SHARE:
        raise BadInput(
            f"the ripple is {share:,.3g} times what the part is rated for, and no life is reckoned "
            f"above {MOST_SHARE:g} times; choose a part rated for more"
        )
    base = 4.0 if share > 1.0 and rated_c == _HOT_GRADE_C else 2.0
    return float(base ** ((1.0 - share**2) * core_rise_k / 10.0))


def can_rise(ma: float, esr_ohm: float, diameter_mm: float, length_mm: float) -> float:
    """Kelvin by which ripple warms a can: I² R / (b S), b = 2.3e-3 S^-0.2 W/(K cm²), S in cm².

    S is the can's top and side (a maker's application guide, equations 4.2 and 4.3). Raises
    BadInput for a can of no size.
    """
    if not (diameter_mm > 0.0 and length_mm > 0.0):
        raise BadInput(
            f"a can of {diameter_mm:g} x {length_mm:g} mm has no surface; correct its size"
        )
    diameter, length = diameter_mm / 10.0, length_mm / 10.0
    surface = math.pi / 4.0 * diameter * (diameter + 4.0 * length)
    heat = (ma / 1000.0) ** 2 * esr_ohm
    return float(heat / (2.3e-3 * surface**0.8))


def core_over_can(diameter_mm: float) -> float:
    """How much warmer the core runs than the can's top, as a ratio of their rises over the air."""
    for widest, ratio in _CORE_OVER_CAN:
        if diameter_mm <= widest:
            return ratio
    raise BadInput(
        f"a can of {diameter_mm:g} mm is wider than the table of core temperatures (35 mm); "
        "ask its maker"
    )


def air_from_can(can_c: float, core_rise: float, diameter_mm: float) -> float:
    """Air temperature (°C) that goes with a measured can top: Ta = Tc - core rise / ratio."""
    return can_c - core_rise / core_over_can(diameter_mm)
