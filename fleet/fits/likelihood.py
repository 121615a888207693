"""The Weibull distribution and the one likelihood, row by row and in logs.

This is the plain reading of the formula, the definition the fast sums in `terms` are tested
against. METHODS: weibull.
"""

import numpy as np
import polars as pl

from fleet.fits.rows import Floats, check_lives


def weibull_log_survival(ages: Floats, shape: float, scale: float) -> Floats:
    """Log of the chance to outlast each age: -(age / scale) ** shape; ages in scale's unit."""
    return np.asarray(-np.power(np.asarray(ages, dtype=np.float64) / scale, shape))


def weibull_survival(ages: Floats, shape: float, scale: float) -> Floats:
    """Chance to outlast each age under a Weibull life; ages in the unit of `scale`."""
    return np.asarray(np.exp(weibull_log_survival(ages, shape, scale)))


def weibull_log_density(ages: Floats, shape: float, scale: float) -> Floats:
    """Log density of a Weibull life at each age (> 0), per unit of age."""
    logs = np.log(np.asarray(ages, dtype=np.float64) / scale)
    return np.asarray(np.log(shape / scale) + (shape - 1.0) * logs - np.exp(shape * logs))


def log_difference(hazard: Floats) -> Floats:
    """log(1 - exp(-x)) for x >= 0 without loss near 0 or far out."""
    with np.errstate(divide="ignore"):
        near = np.log(-np.expm1(-hazard))
        far = np.log1p(-np.exp(-hazard))
    return np.where(hazard < 0.6931471805599453, near, far)


def row_log_likelihood(lives: pl.DataFrame, shape: float, scale: float) -> Floats:
    """Each row's part of the log-likelihood of a Weibull life, its count included.

    ``count * (log P(low < T <= high) or log f(low) - log P(entry < T <= known_by))``. Columns of
    `lives`: frames.LIFE, ages in the unit of `scale`. Raises BadFrame.
    """
    check_lives(lives, ())
    entry, low, high, known, count = (
        lives[c].fill_null(np.inf).to_numpy() for c in ("entry", "low", "high", "known_by", "count")
    )
    at_entry, at_low = (
        -weibull_log_survival(entry, shape, scale),
        -weibull_log_survival(low, shape, scale),
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        at_high = -weibull_log_survival(high, shape, scale)
        at_known = -weibull_log_survival(known, shape, scale)
        chance = at_entry - at_low + log_difference(at_high - at_low)
        density = weibull_log_density(low, shape, scale) + at_entry
        window = log_difference(at_known - at_entry)
    return np.asarray(count * (np.where(high == low, density, chance) - window))
