"""Answers for many like units from a few places: Chebyshev polynomials in heat, use and age.

Units that differ in numbers only (their heat, their powered hours, how long they have lived) have
answers that change smoothly with them. Where there are many, the answers are worked out at a few
places and read off between; some units are worked out as well, and unless all of those are read
off within NEAR, and none of them is infinite where others are not, nothing is read off.
METHODS: best-age-by-draws
"""

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev

from fleet.decisions.weibull_life import Floats, Mask, Whole

NEAR = 0.002  # of an answer, at the units that it is held against
_PLACES = {0: (), 1: (7,), 2: (6, 5)}  # by the number of coordinates
_PROBES = 6
_WORTH = 2  # times as many units as places and probes, or it saves too little


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Between:
    """Places at which to work out the answers of some like units.

    `at` (places, coordinates): where; `probes`: which of the units to work out as well.
    `read` (units, places): what each place counts in the answer of each unit.
    """

    at: Floats
    probes: Whole
    read: Floats

    def answers(self, at_places: Floats, at_probes: Floats) -> Floats | None:
        """The answer of each unit, above zero, from those at the places and at the probes.

        None where they cannot be read off well enough.
        """
        told = np.concatenate([at_places, at_probes])
        if np.isnan(told).all() or np.isposinf(told).all():
            return np.full(len(self.read), told[0])
        if not (np.isfinite(told) & (told > 0.0)).all():
            return None
        logs = self.read @ np.log(at_places)
        if np.abs(logs[self.probes] - np.log(at_probes)).max() > NEAR:
            return None
        return np.asarray(np.exp(logs))


def between(coordinates: Floats) -> Between | None:
    """For units with these coordinates, (units, coordinates); None where it would save too little.

    A coordinate that is the same for all units is none.
    """
    low, high = coordinates.min(axis=0), coordinates.max(axis=0)
    moves: Mask = high - low > 1e-9
    counts = _PLACES.get(int(moves.sum()))
    if not counts or len(coordinates) < _WORTH * (int(np.prod(counts)) + _PROBES):
        return None
    middle, half = (high + low)[moves] / 2.0, (high - low)[moves] / 2.0
    axes = np.meshgrid(*(chebyshev.chebpts1(count) for count in counts), indexing="ij")
    places = np.stack([axis.ravel() for axis in axes], axis=1)
    at = np.repeat(low[None, :], len(places), axis=0)
    at[:, moves] = middle + half * places
    units = _terms((coordinates[:, moves] - middle) / half, counts)
    return Between(
        at=at,
        probes=_probes(coordinates[:, moves]),
        read=np.asarray(np.linalg.solve(_terms(places, counts).T, units.T).T, np.float64),
    )


def _terms(at: Floats, counts: tuple[int, ...]) -> Floats:
    """Products of Chebyshev polynomials (rows, places) at points between -1 and 1."""
    out = np.ones((len(at), 1))
    for column, count in zip(at.T, counts, strict=True):
        along = chebyshev.chebvander(column, count - 1)
        out = (out[:, :, None] * along[:, None, :]).reshape(len(at), -1)
    return out


def _probes(coordinates: Floats) -> Whole:
    """Units from the lowest to the highest of the first coordinate, ties by the others."""
    order = np.lexsort(coordinates.T[::-1])
    return np.unique(order[np.linspace(0, order.size - 1, _PROBES).astype(np.int64)])
