"""The ten-kelvin rule for aluminium electrolytics, and where it holds.

L = L0 2^((T0 - T) / 10): a maker's technical notes (Rubycon, Aluminum Electrolytic Capacitor
Technical Notes, sections 4 and 5) find it close to Arrhenius from 70 to 90 °C, off below 60 °C and
above 105 °C. Another maker's life calculator (Nichicon, note 4) takes air from 40 °C up to the
rated temperature. METHODS: part-life
"""

LEAST_C = 40.0  # the coolest air a maker's calculator takes; nothing is gained below
LOOSE_BELOW_C, LOOSE_ABOVE_C = 60.0, 105.0
_KELVIN = 10.0


def temperature_factor(rated_c: float, at_c: float) -> float:
    """Times the rated life at `at_c` of a part rated at `rated_c` (°C).

    >>> 2000 * temperature_factor(105.0, 65.0)
    32000.0
    """
    return float(2.0 ** ((rated_c - at_c) / _KELVIN))


def implied_activation_energy(at_c: float) -> float:
    """Energy in eV at which Arrhenius' law doubles a life between `at_c` and ten kelvin more.

    It is not one number, so the ten-kelvin rule and one activation energy cannot both hold.
    """
    from math import log

    boltzmann, zero = 8.617333e-5, 273.15
    warm, hot = at_c + zero, at_c + _KELVIN + zero
    return boltzmann * log(2.0) / (1.0 / warm - 1.0 / hot)


def range_words(at_c: float, rated_c: float) -> str | None:
    """What to say where the rule is loose; None where it is close or nearly so."""
    if at_c < LOOSE_BELOW_C:
        return (
            f"Below {LOOSE_BELOW_C:g} °C the ten-kelvin rule drifts from what is measured, so this "
            "is a comparison rather than a forecast."
        )
    if rated_c > LOOSE_ABOVE_C:
        return (
            f"For parts rated above {LOOSE_ABOVE_C:g} °C the ten-kelvin rule is not what makers "
            "use; ask the maker's own life formula."
        )
    return None
