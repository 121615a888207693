"""Seeded draws for the demo. Only plain uniform numbers are taken from NumPy, and every other
distribution is made from them here, so that the files stay the same from one NumPy to the next.
"""

import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import TypeVar

import numpy as np

DAYS_PER_YEAR = 365.25
T = TypeVar("T")


class Luck:
    """A stream of random draws; the same keys give the same stream."""

    def __init__(self, *keys: int) -> None:
        self._rng = np.random.default_rng(list(keys))

    def uniform(self) -> float:
        """A number in [0, 1)."""
        return float(self._rng.random())

    def between(self, low: float, high: float) -> float:
        """A number from `low` up to `high`, all alike."""
        return low + (high - low) * self.uniform()

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return low + int(self.uniform() * (high - low + 1))

    def chance(self, share: float) -> bool:
        """True with probability `share`."""
        return self.uniform() < share

    def pick(self, choices: Sequence[T], weights: Sequence[float] | None = None) -> T:
        """One of `choices`, by weight."""
        shares = list(weights) if weights is not None else [1.0] * len(choices)
        left = self.uniform() * sum(shares)
        for choice, share in zip(choices, shares, strict=True):
            left -= share
            if left < 0:
                return choice
        return choices[-1]

    def exponential(self, per_year: float) -> float:
        """Days to the next event of a constant yearly rate; infinite for a rate of 0."""
        if per_year <= 0:
            return math.inf
        return -math.log1p(-self.uniform()) / per_year * DAYS_PER_YEAR

    def weibull(self, shape: float, scale_days: float) -> float:
        """A Weibull life in days: S(t) = exp(-(t/scale)^shape), by inversion."""
        life: float = scale_days * (-math.log1p(-self.uniform())) ** (1.0 / shape)
        return life

    def lognormal(self, log_sd: float) -> float:
        """A positive factor with median 1."""
        return math.exp(log_sd * NormalDist().inv_cdf(max(self.uniform(), 1e-12)))
