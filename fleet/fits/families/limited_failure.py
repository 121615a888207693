"""A batch of which only a share can fail at all. METHODS: limited-failure."""

import numpy as np

from fleet.fits.families.hazard_model import HazardModel
from fleet.fits.families.weibull_model import FLATTEST, STEEPEST, cumulative, log_slope
from fleet.fits.rows import Floats


def _shares(logit: Floats) -> tuple[Floats, Floats]:
    """Log of the share that can fail and of the rest."""
    return -np.logaddexp(0.0, -logit), -np.logaddexp(0.0, logit)


def _limited(x: Floats, theta: Floats) -> Floats:
    """-log(1 - p F(x)) with F Weibull; small chances by log1p, large ones by the sum of parts."""
    with_fault, without = _shares(theta[2])
    inner = cumulative(x, theta)
    failed = -np.exp(with_fault) * np.expm1(-inner)
    small = failed < 0.5
    near = -np.log1p(-np.where(small, failed, 0.0))
    return np.asarray(np.where(small, near, -np.logaddexp(without, with_fault - inner)))


def _slope(x: Floats, theta: Floats) -> Floats:
    with_fault, _ = _shares(theta[2])
    return np.asarray(with_fault + log_slope(x, theta) - cumulative(x, theta) + _limited(x, theta))


# theta: of the lives that can fail, log cumulative hazard at the group's largest age and log
# shape; then log(p / (1 - p)) of the share p that can fail
LIMITED_FAILURE = HazardModel(
    name="limited_failure",
    parameters=3,
    cumulative=_limited,
    log_slope=_slope,
    low=(-40.0, np.log(FLATTEST), -30.0),
    high=(80.0, np.log(STEEPEST), 16.0),
)
