"""Preferred values of capacitance (IEC 60063, from memory) and steps of rated voltage."""

import math
from itertools import pairwise

import polars as pl

from fleet.errors import BadInput

_E24 = (
    10,
    11,
    12,
    13,
    15,
    16,
    18,
    20,
    22,
    24,
    27,
    30,
    33,
    36,
    39,
    43,
    47,
    51,
    56,
    62,
    68,
    75,
    82,
    91,
)
SERIES: dict[str, tuple[int, ...]] = {
    "E3": _E24[::8],
    "E6": _E24[::4],
    "E12": _E24[::2],
    "E24": _E24,
}
# Rated voltages of aluminium electrolytics as catalogues list them. Common practice, no source.
VOLTAGES = (
    *(4.0, 6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 80.0, 100.0, 160.0, 200.0, 250.0, 315.0),
    *(350.0, 400.0, 420.0, 450.0, 500.0, 550.0, 600.0),
)
_SAME = 1e-6  # relative; values are typed with six figures at most


def preferred(value: pl.Expr, series: str = "E6") -> pl.Expr:
    """The nearest value of `series` by ratio, the larger of two as near; null for none above 0.

    Raises BadInput for a series other than E3, E6, E12 and E24.
    """
    known = pl.when(value > 0.0).then(value)
    decade = known.log10().floor()
    within = known / 10.0**decade
    steps = [s / 10.0 for s in (*_steps(series), 100)]
    nearest: pl.Expr = pl.when(within.is_not_null()).then(pl.lit(steps[0]))
    for below, above in pairwise(steps):
        # a step is nearer from the geometric mean of the two on
        bound = math.sqrt(below * above) * (1.0 - _SAME)
        nearest = pl.when(within >= bound).then(pl.lit(above)).otherwise(nearest)
    return nearest * 10.0**decade


def nearest_preferred(value: float, series: str = "E6") -> float:
    """One value as `preferred` finds it: 50e-6 gives 47e-6. BadInput unless above zero."""
    if not value > 0.0 or not math.isfinite(value):
        raise BadInput(f"a capacitance has to be above zero to have a preferred value: {value}")
    return float(pl.select(preferred(pl.lit(value), series)).item())


def is_preferred(value: pl.Expr, series: str = "E12") -> pl.Expr:
    """Whether a value is one of `series`, to a millionth."""
    return (value / preferred(value, series) - 1.0).abs() < _SAME


def voltage_from(volts: pl.Expr) -> pl.Expr:
    """The smallest usual rated voltage that is not below `volts`; null above the largest."""
    step = pl.lit(None, dtype=pl.Float64)
    for usual in reversed(VOLTAGES):
        step = pl.when(volts <= usual).then(pl.lit(usual)).otherwise(step)
    return step


def _steps(series: str) -> tuple[int, ...]:
    if series not in SERIES:
        raise BadInput(f"there is no series {series} here; there are {', '.join(SERIES)}")
    return SERIES[series]
