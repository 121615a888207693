"""Lives to survival curves and Weibull fits. Imports fleet.errors, frames and ages only."""

from fleet.fits.alternatives import alternatives
from fleet.fits.bound import scale_bound
from fleet.fits.causes import fit_causes
from fleet.fits.compare import compare
from fleet.fits.curve import CurveResult, curve
from fleet.fits.departure import departure
from fleet.fits.likelihood import row_log_likelihood, weibull_log_survival, weibull_survival
from fleet.fits.mean_cumulative import MeanCumulative, mean_cumulative
from fleet.fits.posterior import Posterior, weibull_posterior
from fleet.fits.prior import Prior
from fleet.fits.region import hazard_curve, hazard_points, weibull_region
from fleet.fits.weibull import fit_weibull
from fleet.fits.weibull_paper import Paper, weibull_paper

__all__ = [
    "CurveResult",
    "MeanCumulative",
    "Paper",
    "Posterior",
    "Prior",
    "alternatives",
    "compare",
    "curve",
    "departure",
    "fit_causes",
    "fit_weibull",
    "hazard_curve",
    "hazard_points",
    "mean_cumulative",
    "row_log_likelihood",
    "scale_bound",
    "weibull_log_survival",
    "weibull_paper",
    "weibull_posterior",
    "weibull_region",
    "weibull_survival",
]
