"""Lives of a set of parts under each draw, counted from a day on which it works.

What the economics read: chance to last so long, and mean time worked by then. Days throughout.
"""

from dataclasses import dataclass, replace

import numpy as np

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.weibull_life import LARGEST, Floats, added_hazard, mean_life

_STANDS = np.linspace(-5.0, 9.0, 281)  # of a batch among all, in standard deviations


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class SetLife:
    """Weibull lives by draw, (draws,); `weight` adds up to 1.

    `age`: of the parts at the start, under each draw. `log_centre` and `batch_sd`: of log scales of
    batches, where the scale is of a batch nobody knows; None where it is known.
    """

    weight: Floats
    shape: Floats
    scale: Floats
    age: Floats
    log_centre: Floats | None = None
    batch_sd: Floats | None = None

    @classmethod
    def to_come(cls, lives: DrawnLives, cell: int) -> "SetLife":
        """New parts of a cell, at the usual temperature and use of its model."""
        weight = lives.weight[cell]
        return cls(
            weight=weight / weight.sum(),
            shape=lives.shape[cell],
            scale=np.exp(lives.log_scale[cell]),
            age=np.zeros(lives.draws),
            log_centre=lives.log_centre[cell],
            batch_sd=lives.batch_sd[cell],
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

        That they have lived tells of their own batch, where nobody knows it, and of nothing else:
        nobody watched them fail or live, so draws keep their weights. Under each draw the batch
        stands as high among batches that let a set live so long as it stood among all.
        METHODS: keep-or-replace
        """
        from scipy.special import ndtr

        age = np.full(self.shape.size, float(days))
        if self.log_centre is None or self.batch_sd is None or days <= 0.0:
            return replace(self, age=age)
        stands = _STANDS
        scale = self.log_centre[:, None] + self.batch_sd[:, None] * stands
        power = np.minimum(self.shape[:, None] * (np.log(days) - scale), LARGEST)
        logs = -(stands**2) / 2.0 - np.exp(power)
        likely = np.exp(logs - logs.max(axis=1, keepdims=True))
        below = np.cumsum(likely, axis=1) - likely / 2.0
        below /= likely.sum(axis=1, keepdims=True)
        moved = np.log(self.scale)
        for draw in np.flatnonzero(self.batch_sd > 0.0):
            at = (moved[draw] - self.log_centre[draw]) / self.batch_sd[draw]
            new = np.interp(ndtr(at), below[draw], stands)
            moved[draw] = self.log_centre[draw] + self.batch_sd[draw] * max(new, at)
        return replace(self, scale=np.exp(moved), age=age)

    def scaled(self, scale: float) -> "SetLife":
        """The same shapes around a life (scale) that is given."""
        middle = np.exp((self.weight * np.log(self.scale)).sum())
        told = self.scale * (scale / middle)
        return replace(self, scale=told, log_centre=None, batch_sd=None)
