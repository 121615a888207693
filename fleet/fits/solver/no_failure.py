"""The smallest ages that lives without a failure leave possible, for any shape."""

import numpy as np

from fleet.fits.roots import newton_between
from fleet.fits.rows import Floats
from fleet.fits.solver.packed import Packed

_SHAPES = np.arange(-5.0, 6.6, 0.5)  # log shapes tried


def lower_ages(packed: Packed, drop: float, hazards: Floats) -> Floats:
    """Lower limits of the log ages at each cumulative hazard, (hazards, G); NaN: down to 0.

    Without a failure the log-likelihood is ``-exp(c) A(b)``, so the region's edge is
    ``exp(c) A(b) = drop`` and the age there ``(log h + log A(b) - log drop) / b``: its smallest
    value over the shapes b. It runs down to 0 where fewer than ``drop / h`` lives were watched
    from new, and tends to the largest age watched as the shape grows.
    """
    kappa = np.log(hazards / drop)[:, None]
    from_new = packed.moments[0].sum(axis=0)
    bounded = np.log(np.maximum(from_new, 1e-300)) + kappa > 1e-9
    u = np.broadcast_to(_SHAPES[:, None], (len(_SHAPES), packed.groups))
    level = np.log(packed.exposure(np.exp(u))[0])
    out = np.full((len(hazards), packed.groups), np.nan)
    for i, k in enumerate(kappa[:, 0]):
        ages = (level + k) * np.exp(-u)
        best = np.nanargmin(np.where(np.isnan(ages), np.inf, ages), axis=0)
        last = best == len(_SHAPES) - 1
        left = _SHAPES[np.maximum(best - 1, 0)]
        right = _SHAPES[np.minimum(best + 1, len(_SHAPES) - 1)]

        def falling(log_shape: Floats, k: float = float(k)) -> tuple[Floats, Floats]:
            b = np.exp(log_shape)
            zero, first, second = packed.exposure(b)
            slope = b * first / zero
            bend = slope + b * b * second / zero - slope * slope
            return np.log(zero) + k - slope, slope - bend

        where = newton_between(falling, left[None], right[None], _SHAPES[best][None])
        age = (np.log(packed.exposure(np.exp(where))[0]) + k) * np.exp(-where)
        out[i] = np.where(last, 0.0, np.minimum(age[0], 0.0))
    return np.where(bounded, out + packed.log_top, np.nan)
