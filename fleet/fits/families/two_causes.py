"""Lives that two causes can end, and lives of two kinds mixed. METHODS: two-causes."""

import numpy as np

from fleet.fits.families.hazard_model import HazardModel
from fleet.fits.families.weibull_model import FLATTEST, STEEPEST, cumulative, log_slope
from fleet.fits.rows import Floats


def _both(x: Floats, theta: Floats) -> Floats:
    return cumulative(x, theta) + cumulative(x, theta[2:])


def _either(x: Floats, theta: Floats) -> Floats:
    return np.asarray(np.logaddexp(log_slope(x, theta), log_slope(x, theta[2:])))


# theta: log cumulative hazard at the group's largest age and log shape, of each cause
TWO_CAUSES = HazardModel(
    name="two_causes",
    parameters=4,
    cumulative=_both,
    log_slope=_either,
    low=(-40.0, np.log(FLATTEST)) * 2,
    high=(80.0, np.log(STEEPEST)) * 2,
)


def _mixed(x: Floats, theta: Floats) -> Floats:
    first, second = -np.logaddexp(0.0, -theta[4]), -np.logaddexp(0.0, theta[4])
    one, two = cumulative(x, theta), cumulative(x, theta[2:])
    failed = -np.exp(first) * np.expm1(-one) - np.exp(second) * np.expm1(-two)
    small = failed < 0.5
    near = -np.log1p(-np.where(small, failed, 0.0))
    return np.asarray(np.where(small, near, -np.logaddexp(first - one, second - two)))


def _mixed_slope(x: Floats, theta: Floats) -> Floats:
    first, second = -np.logaddexp(0.0, -theta[4]), -np.logaddexp(0.0, theta[4])
    return np.asarray(
        np.logaddexp(
            first + log_slope(x, theta) - cumulative(x, theta),
            second + log_slope(x, theta[2:]) - cumulative(x, theta[2:]),
        )
        + _mixed(x, theta)
    )


# theta: as above for each kind, then log(p / (1 - p)) of the share p of the first kind
TWO_KINDS = HazardModel(
    name="two_kinds",
    parameters=5,
    cumulative=_mixed,
    log_slope=_mixed_slope,
    low=(*(-40.0, np.log(FLATTEST)) * 2, -12.0),
    high=(*(80.0, np.log(STEEPEST)) * 2, 12.0),
)
