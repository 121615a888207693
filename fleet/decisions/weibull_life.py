"""The Weibull life: the few formulae the decisions need, all vectorised.

R(t) = exp(-(t/scale)^shape), h(t) = shape/scale (t/scale)^(shape-1), and with the regularised
incomplete gamma function P, the integral of R from 0 to t is
scale Γ(1 + 1/shape) P(1/shape, (t/scale)^shape). Ages and scale share one unit.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.integer]
Mask = NDArray[np.bool_]

# Beyond this exp() overflows, and R is 0 long before.
LARGEST = 700.0


def floats(*values: ArrayLike) -> tuple[Floats, ...]:
    """The values as 64-bit arrays of one common shape."""
    same = np.broadcast_arrays(*(np.asarray(value, float) for value in values))
    return tuple(np.array(array) for array in same)


def added_hazard(shape: ArrayLike, scale: ArrayLike, start: ArrayLike, end: ArrayLike) -> Floats:
    """Cumulative hazard between two ages, without cancellation.

    H(end) - H(start) = H(end) (1 - (start/end)^shape), 0 where end <= start. start >= 0.
    Arrays broadcast; what depends on one of them only is worked out once.
    """
    shape, scale, start, end = (np.asarray(v, float) for v in (shape, scale, start, end))
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        ratio = np.log1p((end - start) / start)  # infinite for start = 0, as it should be
        total = np.exp(np.minimum(shape * (np.log(end) - np.log(scale)), LARGEST))
        added = -total * np.expm1(-shape * ratio)
    return np.asarray(np.where(end > start, added, 0.0))


def mean_life(shape: ArrayLike, scale: ArrayLike) -> Floats:
    """Mean life, scale Γ(1 + 1/shape); infinite where it is beyond floating point."""
    from scipy.special import gammaln

    shape, scale = floats(shape, scale)
    with np.errstate(over="ignore"):
        return np.asarray(scale * np.exp(gammaln(1.0 + 1.0 / shape)))


def mean_life_left(shape: ArrayLike, scale: ArrayLike, age: ArrayLike) -> Floats:
    """Mean life still to come at an age: the integral of R beyond it, over R(age).

    Far out (cumulative hazard above 500) its asymptotic series 1/h (1 + (1/shape - 1)/H).
    """
    from scipy.special import gammaincc

    shape, scale, age = floats(shape, scale, age)
    hazard = (age / scale) ** shape
    near = np.minimum(hazard, 500.0)
    exact = mean_life(shape, scale) * gammaincc(1.0 / shape, near) * np.exp(near)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = age / (shape * hazard) * (1.0 + (1.0 / shape - 1.0) / hazard)
    return np.where(hazard <= 500.0, exact, far)
