"""What lives without failures tell of the scale once a shape is taken as known."""

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.rows import check_lives
from fleet.fits.weibull import check_level


def scale_bound(lives: pl.DataFrame, shape: float, *, level: float = 0.95) -> float | None:
    """Lower confidence bound on the Weibull scale from lives without a failure, shape given.

    ``(sum of count * (low ** shape - entry ** shape) / -log(1 - level)) ** (1 / shape)``: at
    that scale the chance of seeing no failure is 1 - level (Nelson 1985, J. Quality Technology
    17:140-146). In the unit of the ages; None when the lives were never watched. Raises BadInput
    when there is a failure, BadFrame for a faulty row.
    """
    check_level(level)
    check_lives(lives, ())
    if shape <= 0.0:
        raise BadInput(f"a shape is above 0; {shape:g} is not")
    if lives["high"].is_not_null().any():
        raise BadInput("these lives hold a failure; fit them instead")
    entry, low, count = (lives[c].to_numpy() for c in ("entry", "low", "count"))
    if not (low > entry).any():
        return None
    top = low.max()
    exposure = float((count * ((low / top) ** shape - (entry / top) ** shape)).sum())
    return float(top * (exposure / -np.log1p(-level)) ** (1.0 / shape))
