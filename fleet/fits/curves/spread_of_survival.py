"""Variance of log survival from the observed information of the cells that hold mass."""

import numpy as np

from fleet.fits.curves.cells import Cells
from fleet.fits.curves.few_windows import few_windows, variance_of_sums
from fleet.fits.curves.linked import pinned
from fleet.fits.curves.windows import Bend, Problem
from fleet.fits.rows import Floats, Ints

_DENSE = 2500  # cells with mass up to which the whole matrix is factored
_ASKED = 150  # ages at which the variance is found where there are more


def log_survival_variance(cells: Cells, survival: Floats, hazard: Floats) -> Floats:
    """Variance of log S after each cell; cells without mass are taken as known to be empty.

    NaN where S is 0, or where the information is not positive: the data do not bound it.
    """
    out = np.full(cells.size, np.nan)
    sure = np.zeros(cells.size, dtype=bool)
    sure[np.flatnonzero(survival <= 0.0)[:1]] = True
    lasting = survival > 0.0
    kept = np.flatnonzero(lasting & (hazard > 0.0))
    if not len(kept):
        out[lasting] = 0.0
        return out
    with np.errstate(divide="ignore"):
        a = np.where(lasting, -np.log1p(-hazard), 0.0)
    bend = Bend.at(Problem(cells, sure=sure), a, kept)
    variance = variance_of_sums(bend) if few_windows(bend) else None
    if variance is None:
        variance = _factored(bend) if len(kept) <= _DENSE else _iterated(bend)
    place = np.cumsum(np.bincount(kept, minlength=cells.size))
    whole = np.concatenate(([0.0], variance))[place]
    out[lasting] = np.where(whole >= 0.0, whole, np.nan)[lasting]
    return out


def _factored(bend: Bend) -> Floats:
    """Variance of the running sums of the hazards: e' inverse e, e ones up to a cell."""
    from scipy.linalg import LinAlgError, cholesky, solve_triangular

    diagonal = bend.diagonal()
    if (diagonal <= 0.0).any():
        return np.full(bend.size, np.nan)
    size = 1.0 / np.sqrt(diagonal)
    if not any(len(weight) for _, weight in bend.parts):
        return np.asarray(np.cumsum(size**2))
    if not len(bend.parts[1][1]):
        bend = pinned(bend)
        size = 1.0 / np.sqrt(bend.diagonal())
    scaled = bend.matrix() * size * size[:, None]
    ones = np.triu(np.ones((bend.size, bend.size))) * size[:, None]
    try:
        lower = cholesky(scaled, lower=True, check_finite=False)
    except LinAlgError:
        return _without_flat(scaled, ones)
    if np.diag(lower).min() < 1e-5:
        return _without_flat(scaled, ones)
    half = solve_triangular(lower, ones, lower=True, check_finite=False, overwrite_b=True)
    return np.asarray((half * half).sum(axis=0))


def _without_flat(scaled: Floats, ones: Floats) -> Floats:
    """The same without directions in which nothing changes (open_ages says where that matters)."""
    values, vectors = np.linalg.eigh(scaled)
    if values[0] < -1e-9:
        return np.full(len(values), np.nan)
    telling = values > 1e-9
    along = vectors[:, telling].T @ ones
    return np.asarray((along * along / values[telling, None]).sum(axis=0))


def _iterated(bend: Bend) -> Floats:
    """The same at some of the cells, by conjugate gradients, drawn through between them."""
    diagonal = bend.diagonal()
    if (diagonal <= 0.0).any():
        return np.full(bend.size, np.nan)
    if not any(len(weight) for _, weight in bend.parts):
        return np.asarray(np.cumsum(1.0 / diagonal))
    size = 1.0 / np.sqrt(diagonal)
    asked: Ints = np.unique(np.linspace(0, bend.size - 1, _ASKED).round().astype(np.int64))
    found = np.array([_one(bend, size, int(j)) for j in asked])
    return np.asarray(np.interp(np.arange(bend.size), asked, found))


def _one(bend: Bend, size: Floats, cell: int) -> float:
    right = np.where(np.arange(bend.size) <= cell, size, 0.0)
    x, rest, move = np.zeros_like(right), right.copy(), right.copy()
    left = float(rest @ rest)
    goal = 1e-16 * left
    for _ in range(1000):
        turned = size * bend.times(size * move)
        bent = float(move @ turned)
        if bent <= 0.0:
            return float("nan")
        x += left / bent * move
        rest -= left / bent * turned
        now = float(rest @ rest)
        if now < goal:
            return float(right @ x)
        move, left = rest + now / left * move, now
    return float("nan")
