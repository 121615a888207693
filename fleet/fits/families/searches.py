"""Where searches for a maximum begin, and the best they lead to."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.families.hazard_model import HazardModel, LifeSums
from fleet.fits.families.maximise import Top, maximise
from fleet.fits.rows import Floats

_ENOUGH = 1_000  # rows a group for a first search


class Starts:
    """Where searches begin: the Weibull fit, or one failure rate where there is none."""

    def __init__(self, sums: LifeSums, weibull: pl.DataFrame) -> None:
        shape = weibull["shape"].fill_null(1.0).to_numpy()
        scale = weibull["scale"].fill_null(np.nan).to_numpy()
        self.lives = np.maximum(sums.total(sums.rows.count), 1e-9)
        failed = np.clip(sums.failures / self.lives, 1e-6, 0.99)
        with np.errstate(all="ignore"):
            c = shape * (np.log(sums.typical) - np.log(scale))
        self.c = np.where(np.isfinite(c), np.clip(c, -30.0, 30.0), np.log(-np.log1p(-failed)))
        self.b = np.clip(shape, 0.05, 25.0)
        self.failed = failed

    def age(self, part: float) -> Floats:
        """The x by which this part of the failures within the largest age has happened."""
        failed = part * -np.expm1(-np.exp(self.c))
        return np.asarray((np.log(-np.log1p(-failed)) - self.c) / self.b)

    def limited(self) -> list[Floats]:
        """For LIMITED_FAILURE: shares from just above those that have failed."""
        out = []
        for odds, steeper in ((1.1, 1.3), (1.5, 1.1), (4.0, 1.0)):
            p = np.clip(odds * self.failed, 1e-6, 0.98)
            b = np.clip(self.b * steeper, 0.05, 25.0)
            within = np.log(-np.log1p(-np.minimum(self.failed / p, 0.995)))
            out.append(np.stack([within, np.log(b), np.log(p / (1.0 - p))]))
        return out

    def causes(self) -> list[Floats]:
        """For TWO_CAUSES: the hazard shared between a flatter and a steeper one."""
        total, nothing = self.c, np.zeros(len(self.c))
        pairs = ((0.3, 0.6, 3.0), (0.5, 1.0, 6.0), (0.2, 0.4, 1.5), (0.9, 0.9, 8.0))
        return [
            np.stack(
                [
                    total + np.log(f),
                    np.log(np.clip(self.b * b1, 0.05, 25.0)),
                    total + np.log(1.0 - f),
                    np.log(np.clip(self.b * b2, 0.05, 25.0)) + nothing,
                ]
            )
            for f, b1, b2 in pairs
        ]

    def kinds(self) -> list[Floats]:
        """For TWO_KINDS: the first failures to one kind, the rest to the other."""
        out = []
        for p, b1, b2 in ((0.3, 1.0, 2.0), (0.15, 1.5, 1.5), (0.5, 2.5, 2.5)):
            one, two = (np.clip(self.b * b, 0.05, 25.0) for b in (b1, b2))
            odds = np.full(len(self.c), np.log(p / (1.0 - p)))
            early, late = self.age(0.5 * p), self.age(0.5 + 0.5 * p)
            out.append(np.stack([-one * early, np.log(one), -two * late, np.log(two), odds]))
        return out


def best_of(sums: LifeSums, model: HazardModel, starts: Sequence[Floats]) -> Top:
    """The highest maximum inside the box that any start leads to.

    Where every group has many rows, a part of them says which start to follow.
    """
    step = int(sums.sizes.min(initial=len(sums.rows.count))) // _ENOUGH
    if step > 1:
        first = [maximise(sums.thinned(step), model, start) for start in starts]
        best = np.stack([top.value for top in first]).argmax(axis=0)
        every = np.stack([top.theta for top in first])
        starts = [every[best, :, np.arange(sums.groups)].T]
    tops = [maximise(sums, model, start) for start in starts]
    values = np.stack([np.where(top.inside, top.value, -np.inf) for top in tops])
    chosen, each = values.argmax(axis=0), np.arange(sums.groups)
    return Top(
        theta=np.stack([top.theta for top in tops])[chosen, :, each].T,
        value=values[chosen, each],
        inside=np.isfinite(values[chosen, each]),
    )
