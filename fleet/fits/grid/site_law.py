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
    values = (
        rows.site.ambient_c if full.site.tells_heat else None,
        rows.site.log_hours if full.site.tells_use else None,
    )
    # a set seen from new on came to be known whatever its heat and use
    met = rows.take((rows.entry > 0.0) | ~np.isnan(rows.known_by))

    def worse(x: Floats) -> tuple[float, Floats]:
        law = _law(x, told)
        chance, slope = _known(met, law, pilot)
        for place, value in enumerate(values):
            if value is not None:
                mean, sd = (law.mean_c, law.sd_c) if place == 0 else (law.mean_use, law.sd_use)
                away = (value - mean) / sd
                chance += float((rows.count * (0.5 * away**2 + np.log(sd))).sum())
                slope[2 * place] -= float((rows.count * away).sum()) / sd
                slope[2 * place + 1] -= float((rows.count * (away**2 - 1.0)).sum()) / sd
        by_x = slope * [told.sd_c, law.sd_c, told.sd_use, law.sd_use] + _LEAN * x
        return float(_LEAN * (x**2).sum() / 2.0) + chance, by_x

    found = minimize(
        worse, np.zeros(4), method="L-BFGS-B", jac=True, bounds=[(-3.0, 3.0), (-1.0, 1.0)] * 2
    )
    return _law(found.x, told)


def _law(x: Floats, told: SiteLaw) -> SiteLaw:
    """Law at a point: shifts in told standard deviations, and logs of ratios of them."""
    return SiteLaw(
        mean_c=told.mean_c + x[0] * told.sd_c,
        sd_c=max(told.sd_c, 0.1) * float(np.exp(x[1])),
        mean_use=told.mean_use + x[2] * told.sd_use,
        sd_use=max(told.sd_use, 0.01) * float(np.exp(x[3])),
    )


def _known(rows: Evidence, law: SiteLaw, pilot: Pilot) -> tuple[float, Floats]:
    """Sum of the log chances of the sets to live until they were met, or to fail within their
    window, and its slope in mean and standard deviation of heat and of use.
    """
    site = rows.site
    heat, use = np.zeros(1), np.zeros(1)
    by_heat, by_use = heat, use
    weight = np.ones((1, 1))
    if site.tells_heat:
        at = law.mean_c + law.sd_c * NODES
        heat = log_heat_factor(at, pilot.strength, site.usual_c)
        by_heat = np.full(NODES.size, (heat[1] - heat[0]) / (at[1] - at[0]))
        weight = weight * NODE_WEIGHTS[:, None]
    if site.tells_use:
        at = law.mean_use + law.sd_use * NODES
        use = log_use_factor(at, pilot.calendar, site.usual_hours)
        by_use = pilot.calendar * np.exp(use) - 1.0
        weight = weight * NODE_WEIGHTS
    log_scale = (pilot.log_scale + heat[:, None] + use).ravel()
    chance, slope = _chances(rows, log_scale, pilot.shape)
    mean = chance @ weight.ravel() + 1e-300
    by_node = ((rows.count / mean) @ slope * weight.ravel()).reshape(weight.shape)
    slope_of = [
        (part.sum(), (part * (NODES if part.size > 1 else 0.0)).sum())
        for part in (by_node.sum(axis=1) * by_heat, by_node.sum(axis=0) * by_use)
    ]
    return float(rows.count @ np.log(mean)), np.array(slope_of).ravel()


def _chances(rows: Evidence, log_scale: Floats, shape: float) -> tuple[Floats, Floats]:
    """(sets, nodes): chance to come to be known, and its slope in the log scale."""
    with np.errstate(divide="ignore"):
        entry = _hazard(rows.entry, log_scale, shape)
        lived = np.exp(-entry)
        chance, slope = lived, shape * entry * lived
        above = ~np.isnan(rows.known_by)
        if above.any():
            end = _hazard(rows.known_by[above], log_scale, shape)
            gap = np.maximum(end - entry[above], 1e-300)
            chance[above] = lived[above] * -np.expm1(-gap)
            slope[above] -= shape * end * np.exp(-end)
    return chance, slope


def _hazard(age: Floats, log_scale: Floats, shape: float) -> Floats:
    """(sets, nodes). Beyond the largest nothing lives anyway."""
    return np.asarray(np.exp(np.minimum(shape * (np.log(age)[:, None] - log_scale), _LARGEST)))
