"""Ages at which several curves fit equally well, so that survival there is not determined."""

import numpy as np

from fleet.fits.curves.linked import free_reach
from fleet.fits.curves.mass_newton import Shares
from fleet.fits.curves.windows import Bend, Problem
from fleet.fits.rows import Floats, Ints, Mask

_LARGEST = 1500  # cells that could move, above which this is not looked into
_ASKED = 200  # cells up to which the range of survival is found exactly
_APART = 1e-7  # survival is open where it can move by more than this


def open_ends(problem: Problem, a: Floats, *, backwards: bool = False) -> Mask:
    """Cells at whose end the running sum of the hazards is not the same in every maximum.

    The likelihood is strictly concave in the sums over the windows and linear in the hazards
    passed: the maxima are the hazards >= 0 with the same sums. `backwards`: the cells are in
    reverse order; what is open at the start of such a cell is open at the end of its mirror.
    """
    survival = np.exp(-np.cumsum(np.where(problem.sure, np.inf, a)))
    # after a loose cell nothing is known until the next sure one ends all
    open_at = (np.cumsum(problem.loose) > 0) & (survival > 0.0)
    slope = problem.slope(a)
    able = ~problem.fixed & ((a > 0.0) | (slope > -1e-7 * problem.lives))
    kept = np.flatnonzero(able)
    if len(kept) and len(kept) <= _LARGEST and (problem.w.end > problem.w.start + 1).any():
        reach = np.append(0.0, free_reach(Bend.at(problem, a, kept)))
        before = np.cumsum(np.bincount(kept, minlength=problem.size))
        movable = reach[before] * survival > _APART
        if movable.any() and len(kept) <= _ASKED:
            movable &= _ranges(problem, a, kept, np.flatnonzero(movable))
        open_at |= movable
    if backwards:
        return np.append(open_at[::-1], False)[1:]
    return np.asarray(open_at)


def _ranges(problem: Problem, a: Floats, kept: Ints, ends: Ints) -> Mask:
    """Whether the running sum up to each of `ends` really differs between maxima."""
    from scipy.optimize import linprog

    own = problem.w.within(kept, problem.size)
    place = np.arange(len(kept))
    use = ~problem.w.sure & (own.end > own.start)
    rows = (place >= own.start[use, None]) & (place < own.end[use, None])
    passed = problem.through[kept]
    passed = passed / max(float(np.abs(passed).max(initial=0.0)), 1e-300)  # counts may be large
    fixed = np.unique(np.vstack([rows.astype(np.float64), passed]), axis=0)
    found = np.zeros(problem.size, dtype=bool)
    for end in ends:
        ask = (kept <= end).astype(np.float64)
        span = [
            linprog(sign * ask, A_eq=fixed, b_eq=fixed @ a[kept], bounds=(0.0, None)).fun
            for sign in (1.0, -1.0)
        ]
        if None in span or -span[1] - span[0] > _APART:
            found[end] = True
    return found


def open_shares(shares: Shares, mass: Floats, part: Ints) -> Mask:
    """Cells at whose end survival differs between masses that fit equally well.

    Masses of parts that no window compares may take any proportion; within a part, directions in
    which the likelihood is not bent at all.
    """
    held = mass > 0.0
    open_at = np.zeros(len(mass), dtype=bool)
    cells = np.flatnonzero(held)
    parts = np.unique(part[cells])
    if len(parts) > 1:
        run = np.stack([np.cumsum(np.where(part == p, mass, 0.0)) for p in parts])
        run = run / run[:, -1:]
        open_at |= run.max(axis=0) - run.min(axis=0) > _APART
    if len(cells) > _LARGEST or (shares.ends.sum(axis=1) <= 1).all():
        return open_at
    own = shares.among(held)
    bend, parts_size = own.bend(mass[cells])
    size = 1.0 / np.sqrt(np.maximum(parts_size, 1e-300))
    values, vectors = np.linalg.eigh(bend * size * size[:, None])
    flat = np.abs(values) < 1e-9
    moves = np.zeros((len(mass), int(flat.sum())))
    moves[cells] = (mass[cells] * size)[:, None] * vectors[:, flat]
    # a common factor of all masses changes nothing
    moves -= np.outer(mass, moves.sum(axis=0)) / mass.sum()
    return np.asarray(
        open_at | (np.abs(np.cumsum(moves, axis=0)).max(axis=1, initial=0.0) > _APART)
    )
