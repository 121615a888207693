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
