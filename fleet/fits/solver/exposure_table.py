"""The exposure A(b) of many groups tabulated over the shape, so that Newton need not revisit rows.

``log A`` in ``u = log b`` is smooth. Nodes lie a third of an octave apart, and powers of the
next octave are squares of those of the last, so a node costs a multiplication and three sums a
term. Between nodes: quintic Hermite interpolation (values, slopes and curvatures at both ends).
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats
from fleet.fits.solver.packed import Packed, slices

_AN_OCTAVE = 3
_STEP = np.log(2.0) / _AN_OCTAVE
_BELOW, _OCTAVES = 2.7, 5  # octaves below the middle, and in all


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class ExposureTable:
    """`first`: log shape of the first node (G). `pieces`: (G * intervals, 6), one polynomial each.

    A polynomial in the place within the interval (0 to 1) gives log A.
    """

    first: Floats
    intervals: int
    pieces: Floats

    def at(self, log_shape: Floats) -> Floats:
        """A and its first two derivatives in the shape, (3, problems, G), at log shapes."""
        place = (log_shape - self.first) / _STEP
        left = np.fmin(np.fmax(place, 0.0), self.intervals - 1.0).astype(np.intp)  # NaN to 0
        t = place - left
        left += self.intervals * np.arange(log_shape.shape[-1])
        f, d, s, p, q, r = np.moveaxis(np.take(self.pieces, left, axis=0), -1, 0)
        value = f + t * (d + t * (s + t * (p + t * (q + t * r))))
        first = d + t * (2.0 * s + t * (3.0 * p + t * (4.0 * q + t * (5.0 * r))))
        second = 2.0 * s + t * (6.0 * p + t * (12.0 * q + t * (20.0 * r)))
        b = np.exp(log_shape)
        first /= _STEP * b
        out = np.empty((3, *b.shape))
        np.exp(value, out=out[0])
        np.multiply(out[0], first, out=out[1])
        np.multiply(out[0], (second / (_STEP * b) ** 2 - first / b + first * first), out=out[2])
        return out


def tabulate(packed: Packed, middle: Floats) -> ExposureTable:
    """The table about the log shapes `middle`; log A is NaN where the exposure is not above 0."""
    first = middle - _BELOW * np.log(2.0)
    count = _AN_OCTAVE * _OCTAVES + 1
    sums = np.zeros((count, 3, packed.groups))
    for cut in slices(packed.groups, len(packed.x)):
        moments = packed.moments[:, cut]
        for base in range(_AN_OCTAVE):
            b = np.exp(first + base * _STEP).astype(packed.x.dtype)
            power = np.exp(b * packed.x[cut])
            for node in range(base, count, _AN_OCTAVE):
                sums[node] += np.einsum("mg,img->ig", power, moments)
                power *= power
    b = np.exp(first + _STEP * np.arange(count)[:, None])
    with np.errstate(all="ignore"):
        zero = np.where(sums[:, 0] > 0.0, sums[:, 0], np.nan)
        slope = b * sums[:, 1] / zero
        bend = slope + b * b * sums[:, 2] / zero - slope * slope
        pieces = _quintics(np.log(zero), slope * _STEP, bend * (0.5 * _STEP**2))
    return ExposureTable(first=first, intervals=count - 1, pieces=pieces)


def _quintics(value: Floats, slope: Floats, half_bend: Floats) -> Floats:
    """Polynomials that meet values, slopes and half curvatures at both ends, (G * intervals, 6)."""
    f, d, s = value[:-1], slope[:-1], half_bend[:-1]
    gap = value[1:] - f - d - s
    tilt, turn = slope[1:] - d - 2.0 * s, 2.0 * (half_bend[1:] - s)
    p = 10.0 * gap - 4.0 * tilt + 0.5 * turn
    q = -15.0 * gap + 7.0 * tilt - turn
    r = 6.0 * gap - 3.0 * tilt + 0.5 * turn
    return np.ascontiguousarray(np.stack([f, d, s, p, q, r]).transpose(2, 1, 0)).reshape(-1, 6)
