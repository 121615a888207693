"""Hazards of cells at the maximum of a likelihood that is concave in them. METHODS: turnbull.

Projected Newton steps on the cells that hold mass until the optimality conditions hold: slope 0
where a_j > 0, slope <= 0 where a_j = 0. The support is mostly far smaller than the cells.
"""

import numpy as np

from fleet.fits.curves.few_windows import FewWindows, few_windows
from fleet.fits.curves.windows import Bend, Problem
from fleet.fits.rows import Floats, Mask

DENSE = 1500  # cells with mass up to which a step is solved by factors, not by iteration


def maximise(problem: Problem, *, steps: int = 200) -> Floats:
    """Hazards of the cells, 0 in sure cells (which end every life that reaches them)."""
    a = _self_consistent(problem, np.where(problem.fixed, 0.0, 0.05), steps=30)
    value, gained = problem.value(a), np.inf
    for _ in range(steps):
        slope = problem.slope(a)
        free = _free(problem, a, slope)
        start = np.where(free, a, 0.0)
        if np.isneginf(problem.value(start)):
            start = a  # some window holds only such cells: their proportions still count
        near = 1e-10 if gained < 1e-15 * problem.lives else 1e-12
        dust = bool((start < a).any())  # what is left of cells given up is no mass
        if not dust and (problem.excess(a, slope) < near or not free.any()):
            break
        kept, move = np.flatnonzero(free), start - a
        if len(kept):
            move[kept] = _best_move(Bend.at(problem, a, kept), a[kept], slope[kept])
        new, found = _line_search(problem, a, move, slope, value)
        if np.array_equal(new, a):
            break
        gained, a, value = found - value, new, found
    return a


def _free(problem: Problem, a: Floats, slope: Floats) -> Mask:
    """Cells that may move: those with mass, and between any two of them the steepest without."""
    held = a > 0.0
    # a cell whose mass is all but gone and still falling is given up
    held &= ~((a * problem.lives < 1e-6) & (slope < -1e-6 * problem.lives))
    rising = ~held & ~problem.fixed & (slope > 0.0)
    which = np.flatnonzero(rising)
    if len(which):
        run = np.cumsum(held)[which]
        order = np.lexsort((-slope[which], run))
        first = np.ones(len(which), dtype=bool)
        first[1:] = run[order][1:] != run[order][:-1]
        held[which[order][first]] = True
    return held & ~problem.fixed


def _self_consistent(problem: Problem, a: Floats, *, steps: int) -> Floats:
    """Hazards from expected failures and expected lives at risk, over and over."""
    for _ in range(steps):
        failures, at_risk = problem.expected(a)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(at_risk > 0.0, failures / at_risk, 0.0)
        a = np.where(problem.fixed, 0.0, -np.log1p(-np.clip(share, 0.0, 1.0 - 1e-12)))
    return a


def _best_move(bend: Bend, a: Floats, slope: Floats) -> Floats:
    """Highest point of the likelihood's parabola among hazards at or above 0, less `a`."""
    # where the likelihood is flat, its slope sets how far a step may go
    size = 1.0 / np.sqrt(np.maximum(bend.diagonal(), 1e-3 * np.abs(slope) + 1e-300))
    solver: FewWindows | _Factored | _Iterated
    if few_windows(bend):
        solver = FewWindows(bend, size)
    else:
        solver = _Factored(bend, size) if bend.size <= DENSE else _Iterated(bend, size)
    right, least = size * slope, -a / size
    bound = np.zeros(bend.size, dtype=bool)
    move = np.zeros(bend.size)
    for turn in range(60):
        move = np.where(bound, least, 0.0)
        rest = right - solver.times(move)
        move[~bound] = solver.solve(rest, ~bound)
        below = ~bound & (move < least)
        if below.any():
            bound |= below
            continue
        lifted = bound & (right - solver.times(move) > 1e-12 * np.abs(right).max())
        if turn > 30 or not lifted.any():
            break
        bound &= ~lifted
    return np.asarray(np.maximum(size * move, -a))


class _Factored:
    """Steps by Cholesky factors of the bend, scaled to a diagonal of 1."""

    def __init__(self, bend: Bend, size: Floats) -> None:
        self.scaled = bend.matrix() * size * size[:, None]
        self.scaled[np.diag_indices(bend.size)] = np.maximum(np.diag(self.scaled), 1e-3)

    def times(self, x: Floats) -> Floats:
        return np.asarray(self.scaled @ x)

    def solve(self, right: Floats, free: Mask) -> Floats:
        from scipy.linalg import LinAlgError, cho_factor, cho_solve

        lift, which = 1e-12, np.flatnonzero(free)
        own = self.scaled[np.ix_(which, which)]
        while lift < 1e6:
            lifted = own.copy()
            lifted[np.diag_indices(len(which))] += lift
            try:
                factor = cho_factor(lifted, lower=True, overwrite_a=True, check_finite=False)
            except LinAlgError:
                lift *= 10.0
                continue
            return np.asarray(cho_solve(factor, right[which], check_finite=False))
        return right[which]


class _Iterated:
    """Steps by conjugate gradients: time in proportion to rows and cells."""

    def __init__(self, bend: Bend, size: Floats) -> None:
        self.bend, self.size = bend, size

    def times(self, x: Floats) -> Floats:
        return np.asarray(self.size * self.bend.times(self.size * x))

    def solve(self, right: Floats, free: Mask) -> Floats:
        rest = np.where(free, right, 0.0)
        x, move = np.zeros_like(rest), rest.copy()
        left = float(rest @ rest)
        goal = 1e-20 * left
        for _ in range(1000):
            if left <= goal:
                break
            turned = np.where(free, self.times(move), 0.0) + 1e-12 * move
            share = left / float(move @ turned)
            x, rest = x + share * move, rest - share * turned
            now = float(rest @ rest)
            move, left = rest + now / left * move, now
        return np.asarray(x[free])


def _line_search(
    problem: Problem, a: Floats, move: Floats, slope: Floats, value: float
) -> tuple[Floats, float]:
    """The longest halved step that raises the likelihood."""
    size = 1.0
    for _ in range(90):
        new = np.maximum(a + size * move, 0.0)
        found = problem.value(new)
        gain = float(slope @ (new - a))
        # where the gain drowns in rounding, the slopes are better guides than the value
        lost = 1e-14 * (1.0 + abs(value)) if abs(gain) < 1e-10 else 0.0
        if found >= value + 1e-6 * gain - lost and found > -np.inf:
            return new, found
        size *= 0.5
    return a, value
