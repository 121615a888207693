"""Lives of a set of parts under each draw, counted from a day on which it works.

What the economics read: chance to last so long, and mean time worked by then. Days throughout.
"""

from dataclasses import dataclass, replace

import numpy as np

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.weibull_life import Floats, added_hazard, mean_life


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class SetLife:
    """Weibull lives by draw, (draws,); `weight` adds up to 1.

    `age`: of the parts at the start, under each draw.
    """

    weight: Floats
    shape: Floats
    scale: Floats
    age: Floats

    @classmethod
    def to_come(cls, lives: DrawnLives, cell: int) -> "SetLife":
        """New parts of a cell, at the usual temperature and use of its model."""
        weight = lives.weight[cell]
        return cls(
            weight=weight / weight.sum(),
            shape=lives.shape[cell],
            scale=np.exp(lives.log_scale[cell]),
            age=np.zeros(lives.draws),
        )

    def lasts(self, days: Floats | float) -> Floats:
        """Chance to work on for so many days, given that it works at the start; broadcasts."""
        end = self.age + np.asarray(days, float)
        return np.asarray(np.exp(-added_hazard(self.shape, self.scale, self.age, end)))

    def worked(self, days: Floats | float) -> Floats:
        """Mean days worked within so many days of parts that are new at the start."""
        from scipy.special import gammainc

        at = np.asarray(days, float) / self.scale
        return np.asarray(
            mean_life(self.shape, self.scale) * gammainc(1.0 / self.shape, at**self.shape)
        )

    def mean(self) -> Floats:
        """Mean life of parts that are new at the start."""
        return mean_life(self.shape, self.scale)

    def used(self, days: float) -> "SetLife":
        """Parts of another set of the same kind that works after so many days.

        Each draw counts with the chance that a set lives so long under it: of which batch they
        are is told by their having lived.
        """
        alive = self.weight * np.exp(-((days / self.scale) ** self.shape))
        total = float(alive.sum())
        weight = alive / total if total > 0.0 else self.weight
        return replace(self, weight=weight, age=np.full(self.shape.size, float(days)))

    def scaled(self, scale: float) -> "SetLife":
        """The same shapes around a life (scale) that is given."""
        middle = np.exp((self.weight * np.log(self.scale)).sum())
        return replace(self, scale=self.scale * (scale / middle))
