"""Limits of the share of lives that can fail at all. METHODS: limited-failure."""

import numpy as np

from fleet.fits.families.hazard_model import LifeSums
from fleet.fits.families.limited_failure import LIMITED_FAILURE as MODEL
from fleet.fits.families.maximise import Top, maximise
from fleet.fits.roots import bracketed_root
from fleet.fits.rows import Floats

_MOST = 16.0  # log odds at which a share counts as all


def share(logit: Floats) -> Floats:
    """The share behind log odds."""
    return np.asarray(1.0 / (1.0 + np.exp(-logit)))


def share_limits(sums: LifeSums, top: Top, drop: float) -> tuple[Floats, Floats]:
    """Where the log-likelihood, largest over the other two parameters, has fallen by `drop`.

    1 above where it has not fallen so far even when all can fail.
    """
    theta = top.theta.copy()
    target = top.value - drop

    def excess(logit: Floats) -> Floats:
        theta[2] = logit
        best = maximise(sums, MODEL, theta, free=(0, 1))
        theta[:2] = best.theta[:2]
        return best.value - target

    best = top.theta[2].copy()
    sides = []
    for sign, far in ((-1.0, MODEL.low[2]), (1.0, _MOST)):
        theta[:] = top.theta
        inner, outer, step = best.copy(), best.copy(), 0.5
        at_inner, at_outer = np.full(best.shape, drop), np.full(best.shape, drop)
        while ((at_outer > 0.0) & (sign * outer < sign * far)).any():
            moving = (at_outer > 0.0) & (sign * outer < sign * far)
            inner, at_inner = np.where(moving, outer, inner), np.where(moving, at_outer, at_inner)
            nearer = np.minimum if sign > 0 else np.maximum
            outer = np.where(moving, nearer(outer + sign * step, far), outer)
            at_outer = np.where(moving, excess(outer), at_outer)
            step *= 2.0
        crossed = (at_outer < 0.0) & top.inside
        root = bracketed_root(
            excess,
            np.where(crossed, inner, outer),
            outer,
            np.where(crossed, at_inner, 1.0),
            np.where(crossed, at_outer, -1.0),
        )
        sides.append(np.where(crossed, share(root), 0.0 if sign < 0 else 1.0))
    return sides[0], sides[1]
