"""Weibulls of many groups whose shapes lie near one that is known. METHODS: lives-alike."""

import numpy as np

from fleet.fits.roots import newton_between
from fleet.fits.rows import Floats, Rows
from fleet.fits.solver.profile import profile_at, profile_slope
from fleet.fits.solver.slices import peak
from fleet.fits.solver.terms import Terms

_AROUND = np.linspace(-1.4, 1.7, 9)  # log shapes beside the known one: a fourth to 5.5 times
_DIGITS = 1e-6


def fit_near(rows: Rows, near: float) -> tuple[Floats, Floats]:
    """Shape and log scale of each group, the shape sought from `near` / 4 to 5.5 times `near` and
    held at the end where the likelihood still rises there; infinite scale where it runs away.
    """
    terms = Terms(rows)
    points = np.repeat(np.log(near) + _AROUND[:, None], terms.groups, axis=1)
    values = profile_at(terms, points)
    best = np.where(np.isfinite(values), values, -np.inf).argmax(axis=0)
    each = np.arange(terms.groups)
    low = points[np.maximum(best - 1, 0), each]
    high = points[np.minimum(best + 1, len(_AROUND) - 1), each]

    def slope(log_shape: Floats) -> tuple[Floats, Floats]:
        _, first, second = profile_slope(terms, log_shape)
        return first, second

    ends = np.stack([low, high])
    first = slope(ends)[0]
    start = points[best, each]
    found = newton_between(slope, low[None], high[None], start[None], digits=_DIGITS)[0]
    found = np.where(first[0] < 0.0, low, np.where(first[1] >= 0.0, high, found))
    shape = np.exp(found)
    level = peak(terms.at(shape[None, :]))[0]
    return shape, np.log(terms.typical) - level / shape
