"""Ages and weights that turn an integral over an interval into a sum. METHODS: masked-causes."""

import numpy as np

from fleet.fits.rows import Floats, Ints

_STEP = 1.0 / 16.0
_SHORT = 2.0  # intervals whose ends are no further apart than this, as a ratio, are smooth
_POINTS = 24


def interval_nodes(low: Floats, high: Floats) -> tuple[Ints, Floats, Floats]:
    """For each interval (low, high]: its number, log age and log weight of each node.

    Short ones by Gauss and Legendre's rule in log age. Others by the double-exponential rule of
    Takahasi and Mori (1974, Publ. RIMS Kyoto 9:721-741), whose nodes crowd towards both ends so
    fast that a hazard without end at age 0 is summed as well as a smooth one.
    """
    short = high <= _SHORT * low
    parts = []
    for rule, which in ((_legendre, short), (_double, ~short)):
        age, weight = rule(low[which], high[which])
        number = np.broadcast_to(np.flatnonzero(which)[:, None], age.shape)
        parts.append((number.ravel(), age.ravel(), weight.ravel()))
    number, age, weight = (np.concatenate(both) for both in zip(*parts, strict=True))
    return number, age, weight


def _legendre(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    x, weight = np.polynomial.legendre.leggauss(_POINTS)
    half = 0.5 * np.log(high / low)[:, None]
    log_age = np.log(low)[:, None] + half * (1.0 + x)
    return log_age, np.log(half * weight) + log_age


def _double(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    u = np.arange(-6.0, 3.6, _STEP)
    steep = np.pi * np.sinh(u)
    # log of x = 1 / (1 + exp(-steep)) and of 1 - x, kept apart for digits at both ends
    log_x, log_rest = -np.logaddexp(0.0, -steep), -np.logaddexp(0.0, steep)
    log_weight = log_x + log_rest + np.log(np.pi * np.cosh(u) * _STEP)
    width = np.log(high - low)[:, None]
    with np.errstate(divide="ignore"):
        log_age = np.logaddexp(np.log(low)[:, None], width + log_x)
    return log_age, width + log_weight
