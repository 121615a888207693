"""Laws of life of a whole set of capacitors, in units of its own scale.

`weibull`: H(x) = x^k. `failure_free`: nothing fails before x = free, then
H(x) = ((x - free)/(1 - free))^k. `lognormal`: log x is normal with the median of the Weibull of
the same shape and the standard deviation of its logarithm, pi/(k sqrt 6). `bad_share`: a share of
the sets lives `bad_factor` times as long, S(x) = (1 - q) exp(-x^k) + q exp(-(x/bad_factor)^k).

A board has two equal positions, each with half of the hazard of a whole set; so a set renewed in
part is the old position going on beside a new one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import log_ndtr, ndtri_exp

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """A law of life: its form and what belongs to it."""

    form: str
    shape: float
    free: float = 0.0
    bad_factor: float = 1.0

    def hazard(self, age: ArrayLike, bad: ArrayLike = 0.0) -> Floats:
        """Cumulative hazard at ages in scales; `bad` is the share of bad sets."""
        x: Floats = np.maximum(np.asarray(age, float), 0.0)
        if self.form == "lognormal":
            with np.errstate(divide="ignore"):
                z = (np.log(x) - self._middle) / self._sd
            return np.asarray(-log_ndtr(-z))
        if self.form == "failure_free":
            x = np.maximum(x - self.free, 0.0) / (1.0 - self.free)
        good = x**self.shape
        if self.form != "bad_share":
            return np.asarray(good)
        with np.errstate(divide="ignore"):
            share = np.log(np.asarray(bad, float))
            rest = np.log1p(-np.asarray(bad, float))
        return np.asarray(-np.logaddexp(rest - good, share - (x / self.bad_factor) ** self.shape))

    def age_at(self, hazard: ArrayLike) -> Floats:
        """Age in scales at which a set that is known not to be bad reaches a cumulative hazard."""
        h: Floats = np.asarray(hazard, float)
        if self.form == "lognormal":
            return np.asarray(np.exp(self._middle - self._sd * ndtri_exp(-h)))
        x: Floats = h ** (1.0 / self.shape)
        if self.form == "failure_free":
            x = self.free + (1.0 - self.free) * x
        return np.asarray(x)

    @property
    def _middle(self) -> float:
        return float(np.log(np.log(2.0)) / self.shape)

    @property
    def _sd(self) -> float:
        return float(np.pi / np.sqrt(6.0) / self.shape)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Sets:
    """The present sets of machines: when each position began and its scale, both (machines, 2).

    `bad`: share of bad sets in the batch. Days throughout.
    """

    law: Law
    start: Floats
    scale: Floats
    bad: Floats

    def hazard(self, day: ArrayLike) -> Floats:
        """Cumulative hazard of each board by a day."""
        age = np.asarray(day, float)[..., None] - self.start
        halves = self.law.hazard(age / self.scale, self.bad[:, None])
        return np.asarray(halves.mean(axis=-1))

    def chance(self, day: float, until: float) -> Floats:
        """Chance to fail by `until` of each machine that works on `day`."""
        more = self.hazard(np.full(len(self.bad), until)) - self.hazard(np.full(len(self.bad), day))
        return np.asarray(-np.expm1(-more))
