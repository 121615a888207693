"""Root-finding for many problems at once; every argument may be an array of any one shape."""

from collections.abc import Callable
from statistics import NormalDist

import numpy as np

from fleet.fits.rows import Floats


def normal_quantile(probability: float) -> float:
    """Standard normal quantile."""
    return NormalDist().inv_cdf(probability)


def chi_square_1(level: float) -> float:
    """Chi-square quantile with one degree of freedom: the square of a normal one."""
    return normal_quantile(0.5 + level / 2.0) ** 2


def newton_between(
    function: Callable[[Floats], tuple[Floats, Floats]],
    above: Floats,
    below: Floats,
    start: Floats,
    *,
    steps: int = 80,
    noise: Floats | float = 0.0,
    digits: float = 1e-13,
) -> Floats:
    """Root of a function that is >= 0 at `above` and < 0 at `below`, by Newton with bisection.

    `function` gives value and slope. A Newton step that leaves the bracket, or is not much
    shorter than the step before, is replaced by the middle of the bracket. Accurate to about
    ten times `digits`, or to where values sink into `noise`; NaN in, NaN out.
    """
    above, below, x = (np.array(v, dtype=np.float64) for v in (above, below, start))
    x = np.clip(x, np.minimum(above, below), np.maximum(above, below))
    step = np.abs(above - below)
    done = np.zeros(x.shape, dtype=bool)
    for _ in range(steps):
        value, slope = function(x)
        positive = value >= 0.0
        above, below = np.where(positive, x, above), np.where(positive, below, x)
        with np.errstate(all="ignore"):
            new = x - value / slope
        small = digits * np.maximum(np.abs(x), 1.0)
        move = np.abs(new - x)
        low, high = np.minimum(above, below), np.maximum(above, below)
        # a step too small to leave x is not outside the bracket: x is the root
        bad = (~((new > low) & (new < high)) | (move > 0.6 * step)) & (move > small)
        new = np.where(bad | ~np.isfinite(new), 0.5 * (low + high), new)
        new = np.where((np.abs(value) <= noise) | done, x, new)
        step = np.abs(new - x)
        x = new
        # once there it stays: rounding would only send it about
        done |= ~(step > 10.0 * small)
        if done.all():
            break
    return x


def closed_bracket(
    function: Callable[[Floats], tuple[Floats, Floats]], above: Floats, below: Floats
) -> tuple[Floats, Floats]:
    """The bracket, shrunk to one of its ends where the function does not change sign in it."""
    stays_above = function(below)[0] >= 0.0
    stays_below = function(above)[0] < 0.0
    return (
        np.where(stays_above, below, above),
        np.where(stays_below & ~stays_above, above, below),
    )


def bracketed_root(
    function: Callable[[Floats], Floats],
    above: Floats,
    below: Floats,
    at_above: Floats,
    at_below: Floats,
    *,
    tolerance: float = 1e-9,
    steps: int = 100,
) -> Floats:
    """Root between `above` (value > 0) and `below` (value < 0) without slopes.

    Chandrupatla (1997), Advances in Engineering Software 28:145-149: inverse quadratic
    interpolation where it is safe, bisection elsewhere. Stops when every bracket is narrower
    than `tolerance`, or after `steps`.
    """
    a, b, fa, fb = below, above, at_below, at_above
    c, fc = a, fa
    part = np.full(np.shape(above), 0.5)
    for _ in range(steps):
        x = a + part * (b - a)
        fx = function(x)
        same = np.sign(fx) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        better = np.abs(fa) < np.abs(fb)
        best = np.where(better, a, b)
        width = np.abs(b - a)
        if not ((width > 2.0 * tolerance) & (fx != 0.0)).any():
            break
        with np.errstate(all="ignore"):
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            use = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            part = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (
                fc - fb
            )
            edge = np.minimum(0.5, tolerance / np.where(width > 0.0, width, 1.0))
        part = np.where(use & np.isfinite(part), part, 0.5)
        part = np.clip(part, edge, 1.0 - edge)
    return np.asarray(np.where(fa == 0.0, a, best))
