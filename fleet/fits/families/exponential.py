"""Lives without wear: the exponential distribution. METHODS: other-distributions."""

import numpy as np

from fleet.fits.families.hazard_model import HazardModel
from fleet.fits.rows import Floats


def _cumulative(x: Floats, theta: Floats) -> Floats:
    return np.asarray(np.exp(theta[0] + x))


def _log_slope(x: Floats, theta: Floats) -> Floats:
    return np.asarray(theta[0] + x)


# theta: log of the hazard at the group's largest age
EXPONENTIAL = HazardModel(
    name="exponential",
    parameters=1,
    cumulative=_cumulative,
    log_slope=_log_slope,
    low=(-60.0,),
    high=(60.0,),
)
