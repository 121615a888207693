"""Lives to survival curves and Weibull fits. Layer rule: fleet.errors, frames and ages only."""

from fleet.fits.weibull import fit_weibull

__all__ = ["fit_weibull"]
