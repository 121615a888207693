"""The Weibull life as a HazardModel, and what other distributions build from it."""

import numpy as np

from fleet.fits.families.hazard_model import HazardModel
from fleet.fits.rows import Floats

# Shapes beyond these are not sought where lives are mixed: a steeper part would be a spike at
# one age, where the likelihood of exact ages has no end.
STEEPEST = 30.0
FLATTEST = 0.02


def cumulative(x: Floats, theta: Floats) -> Floats:
    """``exp(c + b x)``; theta holds c and log b first."""
    return np.asarray(np.exp(theta[0] + np.exp(theta[1]) * x))


def log_slope(x: Floats, theta: Floats) -> Floats:
    """Log of the slope of the cumulative hazard in x."""
    return np.asarray(theta[1] + theta[0] + np.exp(theta[1]) * x)


# theta: log cumulative hazard at the group's largest age, log shape
WEIBULL = HazardModel(
    name="weibull",
    parameters=2,
    cumulative=cumulative,
    log_slope=log_slope,
    low=(-80.0, np.log(1e-4)),
    high=(400.0, np.log(1e5)),
)
