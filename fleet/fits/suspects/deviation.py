"""How far groups of lives depart from one Weibull they are held against. METHODS: lives-alike."""

import numpy as np

from fleet.fits.rows import Floats, Rows
from fleet.fits.solver.slices import peak
from fleet.fits.solver.terms import Terms

_NEVER = -700.0  # log of a cumulative hazard that stands for none


def deviations(rows: Rows, shape: Floats, log_scale: Floats) -> tuple[Floats, Floats]:
    """Signed root of twice the log-likelihood each group gains by a scale of its own at the given
    shape, positive where it lives shorter, and its failures over those expected.

    One shape and log scale a group. For exact failures of right-censored lives the root is
    ``sign(O - E) sqrt(2 (O log(O / E) - (O - E)))`` with O failures where the Weibull expects E;
    windows and intervals enter by the one likelihood.
    """
    terms = Terms(rows)
    cut = terms.at(shape[None, :])
    level = shape * (np.log(terms.typical) - log_scale)
    held, slope, _ = cut.value(np.maximum(level, _NEVER)[None, :])
    best = peak(cut)
    never = np.isneginf(best)
    top = np.where(never, cut.at_no_hazard, cut.value(np.where(never, 0.0, best))[0])
    with np.errstate(invalid="ignore"):
        gain = np.maximum(top - held, 0.0)[0]
        root = np.sign(best[0] - level) * np.sqrt(2.0 * gain)
    return np.where(np.isfinite(root), root, 0.0), np.where(np.isfinite(slope[0]), slope[0], 0.0)


def spread_when_many(rows: Rows, shape: float, log_scale: float) -> Floats:
    """Standard deviation of each group's deviation where failures are many, all groups being
    alike: the root of the share of its own information about its level that the fit of the
    common Weibull leaves. NaN where a group has none.
    """
    terms = Terms(rows)
    b = np.full((1, rows.groups), shape)
    size = np.log(terms.typical)
    level = np.maximum(shape * (size - log_scale), _NEVER)[None, :]
    (bb,), (bc,), (cc,) = (-part for part in terms.at(b).hessian(level))
    mixed = bc + size * cc
    both = np.array([[cc.sum(), mixed.sum()],
                     [mixed.sum(), (bb + 2.0 * size * bc + size**2 * cc).sum()]])  # fmt: skip
    own = np.stack([cc, mixed])
    taken = (own * (np.linalg.pinv(both) @ own)).sum(axis=0)
    with np.errstate(all="ignore"):
        return np.asarray(np.sqrt(np.clip(1.0 - taken / cc, 0.0, 1.0)))
