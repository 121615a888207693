"""The law of heat and use among sets when they were new, from what is told of some of them.

Sets that came under watch old are the cool and little used ones that were left, and those known
because they failed the hot ones: their temperatures are no sample of all. Given how lives depend on
heat and use (from the rows where nothing is blank), the law is the one that makes the told values
most likely: the sum over sets of log p(T, u) - log of the chance, over p, of coming to be known.
METHODS: stress
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.grid.row_terms import log_failed
from fleet.fits.grid.stress import (
    NODE_WEIGHTS,
    NODES,
    SiteLaw,
    log_heat_factor,
    log_use_factor,
)

Floats = npt.NDArray[np.float64]

_MOST = 400  # sets looked at: a law of four numbers needs no more
_LARGEST = 600.0
_LEAN = 0.5  # the law leans on the values as they are told as if on so many sets


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """How lives depend on heat and use, as far as rows without blanks tell."""

    shape: float
    log_scale: float
    strength: float
    calendar: float


def site_law(full: Evidence, pilot: Pilot) -> SiteLaw:
    """The law of heat and use from rows without blanks, which are many enough."""
    from scipy.optimize import minimize

    told = full.site.law
    step = max(1, full.cell.size // _MOST)
    some = np.zeros(full.cell.size, bool)
    some[::step] = True
    rows = full.take(some)
    heat, use = rows.site.ambient_c, rows.site.log_hours
    has_heat, has_use = full.site.tells_heat, full.site.tells_use

    def worse(x: Floats) -> float:
        law = _law(x, told)
        log = np.zeros(rows.cell.size)
        if has_heat:
            log -= 0.5 * ((heat - law.mean_c) / law.sd_c) ** 2 + np.log(law.sd_c)
        if has_use:
            log -= 0.5 * ((use - law.mean_use) / law.sd_use) ** 2 + np.log(law.sd_use)
        log -= _log_known(rows, law, pilot)
        return float(_LEAN * (x**2).sum() / 2.0 - (rows.count * log).sum())

    found = minimize(worse, np.zeros(4), method="L-BFGS-B", bounds=[(-3.0, 3.0), (-1.0, 1.0)] * 2)
    return _law(found.x, told)


def _law(x: Floats, told: SiteLaw) -> SiteLaw:
    """Law at a point: shifts in told standard deviations, and logs of ratios of them."""
    return SiteLaw(
        mean_c=told.mean_c + x[0] * told.sd_c,
        sd_c=max(told.sd_c, 0.1) * float(np.exp(x[1])),
        mean_use=told.mean_use + x[2] * told.sd_use,
        sd_use=max(told.sd_use, 0.01) * float(np.exp(x[3])),
    )


def _log_known(rows: Evidence, law: SiteLaw, pilot: Pilot) -> Floats:
    """Log chance of each set to live until it was met, or to fail within its window."""
    site = rows.site
    factor, weight = np.zeros((1, 1)), np.ones((1, 1))
    if site.tells_heat:
        at = law.mean_c + law.sd_c * NODES
        factor = factor + log_heat_factor(at, pilot.strength, site.usual_c)[:, None]
        weight = weight * NODE_WEIGHTS[:, None]
    if site.tells_use:
        at = law.mean_use + law.sd_use * NODES
        factor = factor + log_use_factor(at, pilot.calendar, site.usual_hours)
        weight = weight * NODE_WEIGHTS
    log_scale = pilot.log_scale + factor.ravel()
    with np.errstate(divide="ignore"):
        entry = _hazard(rows.entry, log_scale, pilot.shape)
        ends = _hazard(rows.known_by, log_scale, pilot.shape)
        within = np.where(
            np.isnan(ends),
            0.0,
            log_failed(np.maximum(np.nan_to_num(ends, nan=1e300) - entry, 1e-300)),
        )
    return np.asarray(np.log(np.exp(within - entry) @ weight.ravel() + 1e-300))


def _hazard(age: Floats, log_scale: Floats, shape: float) -> Floats:
    """(sets, nodes); NaN for NaN. Beyond the largest nothing lives anyway."""
    return np.asarray(np.exp(np.minimum(shape * (np.log(age)[:, None] - log_scale), _LARGEST)))
