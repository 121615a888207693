"""Weibull regression by lifelines, for the lives it can take. The only file that meets pandas.

METHODS: regression.
"""

import warnings

import numpy as np
import polars as pl

from fleet.fits.groups.life_ages import Ages
from fleet.fits.rows import Floats


def lifelines_start(ages: Ages, count: Floats, design: Floats) -> Floats | None:
    """Coefficients of log scale and then log shape, or None where lifelines has no answer.

    `design`: a column of ones first. lifelines does delayed entry, right-censoring, intervals
    and counts, but no truncation from above. Its doubts are not passed on: the caller checks
    the answer on its own likelihood.
    """
    entry, low, high, known_by = ages
    told = ~np.isnan(high) | (low > entry)
    if (~np.isnan(known_by)).any() or not told.all():
        return None
    from lifelines import WeibullAFTFitter
    from lifelines.exceptions import ConvergenceError

    unit = float(np.exp(np.mean(np.log(np.fmax(low, high)))))  # ages near 1: steadier steps
    columns = {f"x{k}": design[:, k] for k in range(1, design.shape[1])}
    spread = bool((high > low).any())
    given = {
        **columns,
        "entry": entry / unit,
        "low": low / unit,
        "high": np.where(np.isnan(high), np.inf, high) / unit,
        "failed": ~np.isnan(high) if not spread else high == low,
        "count": count,
    }
    frame = pl.DataFrame(given).to_pandas()
    fitter = WeibullAFTFitter()
    late = "entry" if (entry > 0.0).any() else None
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        try:
            if spread:
                fitter.fit_interval_censoring(
                    frame if late else frame.drop(columns="entry"),
                    lower_bound_col="low",
                    upper_bound_col="high",
                    event_col="failed",
                    weights_col="count",
                    entry_col=late,
                )
            else:
                fitter.fit(
                    frame.drop(columns=["high"] if late else ["high", "entry"]),
                    duration_col="low",
                    event_col="failed",
                    weights_col="count",
                    entry_col=late,
                )
        except (ConvergenceError, ValueError, np.linalg.LinAlgError):
            return None
    found = fitter.params_
    names = ["Intercept", *columns]
    theta = [float(found[("lambda_", name)]) for name in names]
    theta[0] += float(np.log(unit))
    return np.array([*theta, float(found[("rho_", "Intercept")])])
