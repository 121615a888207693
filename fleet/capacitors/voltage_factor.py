"""What running below the rated voltage does for life.

(U / Ur)^-2.5 from 0.6 to 1 and no more below (Albertsen, Jianghai, 2010): of medium and large cans.
Another page of the same maker has exponents of 6 to 12, so it is a matter of the series; makers of
small radial parts count no gain at all (from memory). METHODS: part-life
"""

from fleet.errors import BadInput

EXPONENT = 2.5
LEAST_SHARE = 0.6


def voltage_factor(volts: float, rated_volts: float, exponent: float = EXPONENT) -> float:
    """Times the life at rated voltage. Raises BadInput above the rated voltage.

    >>> round(voltage_factor(320.0, 400.0), 5)
    1.74693
    """
    check_volts(volts, rated_volts)
    return float(max(volts / rated_volts, LEAST_SHARE) ** -exponent)


def check_volts(volts: float, rated_volts: float) -> None:
    """Raise BadInput for volts that a part is not made for."""
    if not 0.0 <= volts <= rated_volts:
        raise BadInput(
            f"{volts:g} V lies outside what a part of {rated_volts:g} V is made for; give the "
            "volts across it while it runs, or choose a part rated for more"
        )
