"""The maximum of many Weibull likelihoods at once. METHODS: weibull.

Everything rests on the profile over the shape, ``P(b) = max over c of l(b, c)``, whose inner
maximum is unique (see `terms`). The outer search brackets first and only then takes Newton
steps, so no fit depends on a good start.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.roots import closed_bracket, newton_between
from fleet.fits.rows import Floats, Ints, Mask, Rows
from fleet.fits.solver.existence import Edges, find_edges
from fleet.fits.solver.slices import peak
from fleet.fits.solver.terms import Terms

_SAME = 1e-9  # log-likelihoods closer than this are equal


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Scan:
    """The profile at shapes in rising order, (points, groups), and how far shapes were tried."""

    log_shape: Floats
    profile: Floats
    smallest: Floats
    largest: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Peak:
    """The supremum of the likelihood of each group and where it lies.

    `c` is log cumulative hazard at the group's largest age; minus infinity when the scale runs
    to infinity. `exists`: it is a maximum at a finite shape and scale.
    """

    terms: Terms
    edges: Edges
    scan: Scan
    shape: Floats
    c: Floats
    value: Floats
    exists: Mask
    unlimited: Mask


def profile_at(terms: Terms, log_shape: Floats) -> Floats:
    """The profile log-likelihood at log shapes (points, groups)."""
    cut = terms.at(np.exp(log_shape))
    c = peak(cut)
    return np.where(np.isneginf(c), cut.at_no_hazard, cut.value(c)[0])


def profile_slope(terms: Terms, log_shape: Floats) -> tuple[Floats, Floats, Floats]:
    """The profile, its slope and curvature in log shape."""
    b = np.exp(log_shape)
    cut = terms.at(b)
    c = peak(cut)
    flat = np.isneginf(c)
    value = np.where(flat, cut.at_no_hazard, cut.value(c)[0])
    first = np.where(flat, cut.k[1], cut.slopes(c)[0])
    bb, bc, cc = cut.hessian(c)
    with np.errstate(all="ignore"):
        bend = np.where(flat, cut.k[2], bb - bc * bc / cc)
    return value, b * first, b * first + b * b * bend


def _spread(rows: Rows, group: Ints, x: Floats, weight: Floats) -> Floats:
    n = np.bincount(group, weights=weight, minlength=rows.groups)
    with np.errstate(all="ignore"):
        mean = np.bincount(group, weights=weight * x, minlength=rows.groups) / n
        square = np.bincount(group, weights=weight * (x - mean[group]) ** 2, minlength=rows.groups)
        return np.asarray(np.sqrt(square / n))


def _shape_range(rows: Rows, terms: Terms, edges: Edges) -> tuple[Floats, Floats, Floats]:
    """A first guess of the log shape, and the smallest and largest worth trying."""
    group = np.repeat(np.arange(rows.groups), np.diff(rows.starts))
    failed = ~np.isnan(rows.high)
    middle = np.where(failed, 0.5 * (rows.low + rows.high), np.fmax(rows.low, rows.entry))
    with np.errstate(divide="ignore"):
        x = np.log(middle / terms.typical[group])
    seen = np.isfinite(x)
    x = np.where(seen, x, 0.0)
    among_failed = _spread(rows, group, x, rows.count * (failed & seen))
    among_all = _spread(rows, group, x, rows.count * seen)
    spread = np.where(among_failed > 1e-7, among_failed, among_all)
    guess = -np.log(np.where(spread > 1e-7, spread, 1.0))
    ages = np.stack([rows.entry, rows.low, rows.high, rows.known_by])
    with np.errstate(all="ignore"):
        logs = np.log(ages / terms.typical[group])
    least = np.zeros(rows.groups)
    np.minimum.at(least, group, np.fmin.reduce(np.where(np.isfinite(logs), logs, 0.0)))
    reach = np.maximum(-least, 1e-6)
    smallest = np.minimum(np.log(1e-5 / reach), guess - 8.0)
    # beyond this the powers of the smaller ages vanish; windows cannot be told apart there
    largest = np.log(600.0 / reach) if terms.windows is not None else guess + 14.0
    return guess, smallest, np.maximum(largest, guess + 1.0)


def _scan(rows: Rows, terms: Terms, edges: Edges, depth: float) -> Scan:
    """The profile on a grid of shapes wide enough that it has fallen by `depth` at both ends."""
    guess, smallest, largest = _shape_range(rows, terms, edges)
    # without truncation the profile has one peak; with it, look further for a second
    single = terms.pairs is None and (
        terms.windows is None or bool((terms.windows.weight >= 0.0).all())
    )
    offsets = np.log(2.0) * np.arange(-2.0, 3.0) if single else np.log(2.0) * np.arange(-8.0, 6.0)
    points = np.clip(guess + offsets[:, None], smallest, largest)
    values = profile_at(terms, points)
    for _ in range(40):
        floor = values.max(axis=0) - depth - _SAME
        left = (values[0] >= floor) & (points[0] > smallest)
        right = (values[-1] >= floor) & (points[-1] < largest)
        if not (left.any() or right.any()):
            break
        before = np.where(left, np.maximum(points[0] - 1.2, smallest), points[0])
        after = np.where(right, np.minimum(points[-1] + 0.7, largest), points[-1])
        new = profile_at(terms, np.stack([before, after]))
        points = np.concatenate([before[None], points, after[None]])
        values = np.concatenate([new[:1], values, new[1:]])
    return Scan(log_shape=points, profile=values, smallest=smallest, largest=largest)


def find_peak(rows: Rows, depth: float) -> Peak:
    """The supremum of the likelihood of each group, and whether it is a maximum.

    `depth`: how far below it the scan of shapes must reach at both ends.
    """
    terms = Terms(rows)
    edges = find_edges(rows, terms)
    scan = _scan(rows, terms, edges, depth)
    each = np.arange(terms.groups)
    best = scan.profile.argmax(axis=0)
    # equal neighbours are the clipped ends of the scan; step over them
    at = scan.log_shape[best, each]
    lower = np.where(scan.log_shape < at, scan.log_shape, -np.inf).max(axis=0)
    upper = np.where(scan.log_shape > at, scan.log_shape, np.inf).min(axis=0)
    lower, upper = np.where(np.isinf(lower), at, lower), np.where(np.isinf(upper), at, upper)

    def slope(log_shape: Floats) -> tuple[Floats, Floats]:
        _, first, second = profile_slope(terms, log_shape)
        return first, second

    ends = closed_bracket(slope, lower[None], upper[None])
    top = newton_between(slope, *ends, at[None], noise=5.0 * terms.noise)
    cut = terms.at(np.exp(top))
    c = peak(cut)
    value = np.where(np.isneginf(c), cut.at_no_hazard, cut.value(c)[0])[0]
    better = scan.profile.max(axis=0) > value + _SAME
    top = np.where(better, at, top[0])
    if better.any():
        cut = terms.at(np.exp(top[None]))
        c = peak(cut)
        value = np.where(np.isneginf(c), cut.at_no_hazard, cut.value(c)[0])[0]
    edge = np.maximum(edges.at_zero, edges.at_infinity)
    exists = (value > edge + _SAME) & np.isfinite(c[0]) & (np.abs(c[0]) < 700.0)
    exists &= ~(edges.no_failure | edges.all_before_look | np.isposinf(edge))
    return Peak(
        terms=terms,
        edges=edges,
        scan=scan,
        shape=np.exp(top),
        c=c[0],
        value=np.where(edges.no_failure | edges.all_before_look, 0.0, np.maximum(value, edge)),
        exists=exists,
        unlimited=np.isposinf(edge),
    )
