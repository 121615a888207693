"""Steps and variances where windows of several cells are far fewer than the cells with mass.

The bend is then a diagonal, from windows of a single cell, and a matrix of few rows, one for each
other window: with ``D`` the diagonal and ``V`` the windows times the roots of their weights,
``(D + V V')^-1 = D^-1 - D^-1 V (1 + V' D^-1 V)^-1 V' D^-1`` (Woodbury). Windows are runs of cells:
``V' D^-1 V`` is read off the running sum of ``1 / D``. METHODS: turnbull.
"""

import numpy as np

from fleet.fits.curves.windows import Bend, Windows
from fleet.fits.rows import Floats, Mask

_FEW = 0.5  # windows for each cell up to which this is quicker than the whole matrix
_LARGEST = 20_000_000  # windows times cells
_LIFT = 1e-9  # of the diagonal: what cells without a window of their own are given
_LOST = 1e-4  # share left of a running sum below which rounding would show


def few_windows(bend: Bend) -> bool:
    """Whether the windows of several cells are few, and none of them is known from above."""
    windows, above = (len(weight) for _, weight in bend.parts)
    return above == 0 and windows <= min(_FEW * bend.size, _LARGEST / bend.size)


class FewWindows:
    """Steps of a bend with few windows, scaled by `size`."""

    def __init__(self, bend: Bend, size: Floats) -> None:
        self.bend, self.size = bend, size
        self.own = np.maximum(bend.alone, _LIFT * np.maximum(bend.diagonal(), size**-2.0))

    def times(self, x: Floats) -> Floats:
        """The scaled matrix times `x`."""
        return np.asarray(self.size * self.bend.times(self.size * x))

    def solve(self, right: Floats, free: Mask) -> Floats:
        """The step of the cells `free`, the others staying where they are."""
        from scipy.linalg import cho_solve

        window, root = _windows(self.bend)
        inverse = np.where(free, 1.0 / self.own, 0.0)
        x = inverse * right / self.size
        if not len(root):
            return np.asarray((x / self.size)[free])
        run = _running(inverse)
        first = _running(x)
        told = root * (first[window.end] - first[window.start])
        back = root * cho_solve((_lower(run, window, root), True), told, check_finite=False)
        x -= inverse * window.spread(back, self.bend.size)
        return np.asarray((x / self.size)[free])


def variance_of_sums(bend: Bend) -> Floats | None:
    """Variance of the running sums of the hazards; None where rounding would show."""
    from scipy.linalg import solve_triangular

    if (bend.alone <= 0.0).any():
        return None
    window, root = _windows(bend)
    run = _running(1.0 / bend.alone)
    if not len(root):
        return run[1:]
    shared = np.clip(run[1:] - run[window.start, None], 0.0, _within(run, window)[:, None])
    lower = _lower(run, window, root)
    half = solve_triangular(lower, root[:, None] * shared, lower=True, check_finite=False)
    variance = run[1:] - np.einsum("wc,wc->c", half, half)
    return None if (variance < _LOST * run[1:]).any() else np.asarray(variance)


def _windows(bend: Bend) -> tuple[Windows, Floats]:
    window, weight = bend.parts[0]
    return window, np.sqrt(weight)


def _running(values: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(values)))


def _within(run: Floats, window: Windows) -> Floats:
    return np.asarray(run[window.end] - run[window.start])


def _lower(run: Floats, window: Windows, root: Floats) -> Floats:
    """Cholesky factor of 1 + V' D^-1 V: its smallest eigenvalue is 1."""
    from scipy.linalg import cholesky

    end = np.minimum(window.end[:, None], window.end)
    start = np.maximum(window.start[:, None], window.start)
    inner = np.maximum(run[end] - run[start], 0.0) * root * root[:, None]
    inner[np.diag_indices(len(root))] += 1.0
    return np.asarray(cholesky(inner, lower=True, overwrite_a=True, check_finite=False))
