"""Lives whose logarithm is normal. METHODS: other-distributions."""

import numpy as np

from fleet.fits.families.hazard_model import HazardModel
from fleet.fits.rows import Floats

_LOG_ROOT = 0.5 * np.log(2.0 / np.pi)


def _cumulative(x: Floats, theta: Floats) -> Floats:
    from scipy.special import log_ndtr

    return np.asarray(-log_ndtr((theta[0] - x) * np.exp(-theta[1])))


def _log_slope(x: Floats, theta: Floats) -> Floats:
    """Log of the normal hazard at z, less log sigma; by erfcx, which keeps its digits far out."""
    from scipy.special import erfcx, log_ndtr

    z = (x - theta[0]) * np.exp(-theta[1])
    far = _LOG_ROOT - np.log(erfcx(np.maximum(z, 0.0) * np.sqrt(0.5)))
    near = -0.5 * (z * z + np.log(2.0 * np.pi)) - log_ndtr(-z)
    return np.asarray(np.where(z > 0.0, far, near) - theta[1])


# theta: mean of x, log of its standard deviation
LOGNORMAL = HazardModel(
    name="lognormal",
    parameters=2,
    cumulative=_cumulative,
    log_slope=_log_slope,
    low=(-200.0, np.log(1e-5)),
    high=(200.0, np.log(60.0)),
)
