"""Weibulls of many groups whose shapes lie near one that is known. METHODS: lives-alike."""

import numpy as np

from fleet.fits.roots import newton_between
from fleet.fits.rows import Floats, Rows
from fleet.fits.solver.slices import peak
from fleet.fits.solver.terms import Terms

_AROUND = np.linspace(-1.4, 1.7, 7)  # log shapes beside the known one: a fourth to 5.5 times
_DIGITS = 1e-6


def fit_near(rows: Rows, near: float) -> tuple[Floats, Floats]:
    """Shape and log scale of each group, the shape sought from `near` / 4 to 5.5 times `near` and
    held at the end where the likelihood still rises there; infinite scale where it runs away.
    """
    terms = Terms(rows)
    points = np.repeat(np.log(near) + _AROUND[:, None], terms.groups, axis=1)
    values = _profile(terms, points)[0]
    best = np.where(np.isfinite(values), values, -np.inf).argmax(axis=0)
    each = np.arange(terms.groups)
    low = points[np.maximum(best - 1, 0), each]
    high = points[np.minimum(best + 1, len(_AROUND) - 1), each]

    def slope(log_shape: Floats) -> tuple[Floats, Floats]:
        return _profile(terms, log_shape)[1:]

    ends = np.stack([low, high])
    first = slope(ends)[0]
    start = points[best, each]
    found = newton_between(slope, low[None], high[None], start[None], digits=_DIGITS)[0]
    found = np.where(first[0] < 0.0, low, np.where(first[1] >= 0.0, high, found))
    shape = np.exp(found)
    level = peak(terms.at(shape[None, :]))[0]
    return shape, np.log(terms.typical) - level / shape


def _profile(terms: Terms, log_shape: Floats) -> tuple[Floats, Floats, Floats]:
    """As solver.profile.profile_slope, to fewer digits: thousands of drawn fleets are fitted."""
    b = np.exp(log_shape)
    cut = terms.at(b)
    c = peak(cut, digits=_DIGITS)
    flat = np.isneginf(c)
    value = np.where(flat, cut.at_no_hazard, cut.value(c)[0])
    first = np.where(flat, cut.k[1], cut.slopes(c)[0])
    bb, bc, cc = cut.hessian(c)
    with np.errstate(all="ignore"):
        bend = np.where(flat, cut.k[2], bb - bc * bc / cc)
    return value, b * first, b * first + b * b * bend
