"""What is held of lives before any report is read: the prior of the posterior.

METHODS: prior
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from fleet.errors import BadInput

Floats = npt.NDArray[np.float64]
_TINY = 1e-300


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """The prior, in numbers a user may change. Pairs are a median and a log standard deviation.

    `no_wear_out_share`: the share of models that do not wear out, whose shapes lie around
    `no_wear_out_shape`; the others lie around `wear_out_shape`. `scale_years`: of a model's
    typical batch. `spread`: scale of the half-normal law of the standard deviation of log batch
    scales. `renewed_sd`: how far sets after the first may differ, on the log scale. `heat`: mean
    and standard deviation of the strength of the ten-kelvin rule (1: life halves every ten
    kelvin). `idle_share`: the share of models on which heat and use have no effect.
    Raises BadInput for numbers that cannot be.
    """

    no_wear_out_share: float = 0.10
    no_wear_out_shape: tuple[float, float] = (1.0, 0.25)
    wear_out_shape: tuple[float, float] = (4.2, 0.38)
    scale_years: tuple[float, float] = (16.0, 0.5)
    spread: float = 0.4
    renewed_sd: float = 0.4
    heat: tuple[float, float] = (1.0, 0.4)
    idle_share: float = 0.2

    def __post_init__(self) -> None:
        for name in ("no_wear_out_share", "idle_share"):
            share = getattr(self, name)
            if not 0.0 <= share <= 1.0:
                raise BadInput(f"the {name.replace('_', ' ')} is {share}; give it from 0 to 1")
        numbers = (
            *self.no_wear_out_shape, *self.wear_out_shape, *self.scale_years, self.spread,
            self.renewed_sd, *self.heat,
        )  # fmt: skip
        if not all(math.isfinite(number) and number > 0.0 for number in numbers):
            raise BadInput("the prior's medians and spreads should be numbers above zero")

    def with_share(self, share: float) -> "Prior":
        """The same prior with another share of models that do not wear out."""
        return replace(self, no_wear_out_share=share)

    def log_shape(self, log_shape: Floats) -> Floats:
        """Log density of a log shape, but for a constant that is the same for every share."""
        flat, wear = (
            np.exp(-0.5 * ((log_shape - math.log(median)) / sd) ** 2) / sd
            for median, sd in (self.no_wear_out_shape, self.wear_out_shape)
        )
        share = self.no_wear_out_share
        return np.asarray(np.log(share * flat + (1.0 - share) * wear + _TINY))

    def log_scale(self, log_years: Floats) -> Floats:
        """Log density of the log of a model's scale in years, but for a constant."""
        median, sd = self.scale_years
        return np.asarray(-0.5 * ((log_years - math.log(median)) / sd) ** 2)

    def log_spread(self, spread: Floats) -> Floats:
        """Log prior mass of each of some rising spreads, the first of them 0."""
        middle = (spread[1:] + spread[:-1]) / 2.0
        last = spread[-1] + (spread[-1] - middle[-1])
        width = np.diff(np.concatenate(([0.0], middle, [last])))
        return np.asarray(np.log(width) - 0.5 * (spread / self.spread) ** 2)
