"""The comparisons' few questions to the solver of many fits. METHODS: likelihood-ratio."""

import numpy as np
import polars as pl

from fleet.fits.groups.life_ages import Ages
from fleet.fits.rows import Floats, Ints, Rows
from fleet.fits.solver.batch import maxima
from fleet.fits.solver.profile import profile_at, profile_slope
from fleet.fits.solver.terms import Terms

_BLOCK = 8_000  # rows at once
_SHAPES = np.linspace(np.log(0.02), np.log(300.0), 48)


def rows_of(ages: Ages, count: Floats, group: Ints, groups: int) -> Rows:
    """Rows sorted by `group` (0 to groups - 1)."""
    order = np.argsort(group, kind="stable")
    sizes = np.bincount(group, minlength=groups)
    return Rows(
        keys=pl.DataFrame({"_": np.arange(groups)}),
        starts=np.concatenate(([0], np.cumsum(sizes))).astype(np.int64),
        entry=ages.entry[order],
        low=ages.low[order],
        high=ages.high[order],
        known_by=ages.known_by[order],
        count=count[order],
    )


def suprema(rows: Rows) -> Floats:
    """Largest Weibull log-likelihood of each group, reached or only neared; infinite: no bound."""
    return maxima(rows).supremum


def common_shape(rows: Rows) -> tuple[float, float] | None:
    """The shape all groups share, each with its own scale, that makes their joint likelihood
    largest, and that likelihood; None where it keeps rising to the end of shapes worth trying.
    """
    from scipy.optimize import brentq

    terms = [Terms(block) for block in rows.blocks(_BLOCK)]
    totals = sum(_total(profile_at(t, _column(_SHAPES, t))) for t in terms)
    best = int(np.argmax(totals))
    if best in (0, len(_SHAPES) - 1):
        return None

    def slope(x: float) -> float:
        return float(sum(profile_slope(t, _column(np.array([x]), t))[1].sum() for t in terms))

    low, high = _SHAPES[best - 1], _SHAPES[best + 1]
    if slope(low) * slope(high) < 0.0:
        at = brentq(slope, low, high, xtol=1e-13, rtol=1e-13)
    else:
        at = _SHAPES[best]
    value = sum(_total(profile_at(t, _column(np.array([at]), t)))[0] for t in terms)
    return float(np.exp(at)), float(value)


def _column(shapes: Floats, terms: Terms) -> Floats:
    return np.repeat(shapes[:, None], terms.groups, axis=1)


def _total(profile: Floats) -> Floats:
    return np.asarray(profile.sum(axis=1))
