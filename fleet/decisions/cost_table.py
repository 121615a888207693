"""Survival and mean life lived of Weibull lives of scale 1, read off tables by log age.

Draws share few shapes, and the incomplete gamma function is dear: it is worked out once for each
shape, on a grid of log ages, and joined by straight lines. METHODS: best-age-by-draws
"""

from copy import copy

import numpy as np

from fleet.decisions.weibull_life import LARGEST, Floats, Whole

_LOW, _HIGH, _NODES = np.log(1e-4), np.log(1e2), 700


class CostTable:
    """Tables for an array of shapes; what is asked has the same form."""

    def __init__(self, shape: Floats) -> None:
        from scipy.special import gammainc, gammaln

        found, self._row = np.unique(shape, return_inverse=True)
        self._row = self._row.reshape(shape.shape)
        self._shape = shape
        age = np.exp(np.linspace(_LOW, _HIGH, _NODES))
        hazard = np.exp(np.minimum(found[:, None] * np.log(age), LARGEST))
        mean = np.exp(gammaln(1.0 + 1.0 / found))[:, None]
        self._lived = mean * gammainc(1.0 / found[:, None], hazard)

    def take(self, rows: Whole) -> "CostTable":
        """The tables of some rows of the shapes."""
        some = copy(self)
        some._row, some._shape = self._row[rows], self._shape[rows]
        return some

    def survival(self, log_age: Floats) -> Floats:
        """R at log ages."""
        return np.asarray(np.exp(-np.exp(np.minimum(self._shape * log_age, LARGEST))))

    def lived(self, log_age: Floats) -> Floats:
        """Integral of R from 0 to the age."""
        place = (log_age - _LOW) * ((_NODES - 1) / (_HIGH - _LOW))
        place = np.clip(place, 0.0, _NODES - 1.001)
        left = place.astype(np.int64)
        part = place - left
        flat = self._row * _NODES + left
        table = self._lived.ravel()
        return np.asarray(table[flat] * (1.0 - part) + table[flat + 1] * part)
