"""Profile-likelihood limits of many Weibull fits at once. METHODS: profile-limits."""

from dataclasses import dataclass

import numpy as np

from fleet.fits.roots import bracketed_root, closed_bracket, newton_between
from fleet.fits.rows import Floats, Mask
from fleet.fits.solver.profile import Peak, profile_slope
from fleet.fits.solver.slices import crossing, peak


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class ShapeLimits:
    """Log shapes between which the profile is above the target, and which ends are open."""

    target: Floats
    low: Floats
    high: Floats
    low_open: Mask
    high_open: Mask


def shape_limits(top: Peak, drop: float) -> ShapeLimits:
    """Where the profile over the shape has fallen by `drop` below the supremum."""
    terms, scan, edges = top.terms, top.scan, top.edges
    target = top.value - drop
    points = np.concatenate([scan.log_shape, np.log(top.shape)[None]])
    values = np.concatenate([scan.profile, np.where(top.exists, top.value, -np.inf)[None]])
    inside = values >= target
    first = np.where(inside, points, np.inf).min(axis=0)
    last = np.where(inside, points, -np.inf).max(axis=0)
    # the edges belong to the region too, should the scan have met no point of it
    first = np.where(np.isinf(first), np.log(top.shape), first)
    last = np.where(np.isinf(last), np.log(top.shape), last)
    below = np.where(points < first, points, -np.inf).max(axis=0)
    above = np.where(points > last, points, np.inf).min(axis=0)
    low_open = np.isinf(below) | (edges.at_zero >= target)
    high_open = np.isinf(above) | (edges.at_infinity >= target)

    def excess(log_shape: Floats) -> tuple[Floats, Floats]:
        value, slope, _ = profile_slope(terms, log_shape)
        return value - target, slope

    inner = np.stack([first, last])
    outer = np.stack([np.where(low_open, first, below), np.where(high_open, last, above)])
    low, high = newton_between(excess, inner, outer, outer)
    return ShapeLimits(
        target=target,
        low=np.where(low_open, scan.smallest, low),
        high=np.where(high_open, scan.largest, high),
        low_open=low_open,
        high_open=high_open,
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class AgeLimits:
    """Smallest and largest log age over the region, relative to the group's largest age.

    Arrays are (hazards, groups). The log shapes say where the contour is tangent; NaN where the
    limit is not reached at a tangent.
    """

    low: Floats
    high: Floats
    low_log_shape: Floats
    high_log_shape: Floats


def age_limits(
    top: Peak, limits: ShapeLimits, hazards: Floats, *, tolerance: float = 1e-9
) -> AgeLimits:
    """Limits of the ages at which the cumulative hazard reaches each of `hazards`.

    A hazard of 1 is the scale, of -log(0.9) B10. Arrays are (hazards, groups); minus or plus
    infinity where unbounded. At a shape b the age is ``(log hazard - c) / b`` and c spans an
    interval of the region; its best end is followed along b until the contour is tangent to a
    line of equal age, to within `tolerance` in log b.
    """
    terms, groups = top.terms, top.terms.groups
    rough = tolerance > 1e-3
    digits, steps = (1e-5, 8) if rough else (1e-13, 100)
    problems = 2 * len(hazards)
    level = np.concatenate([np.log(hazards)] * 2)[:, None]
    upper = np.arange(problems)[:, None] < len(hazards)  # small ages lie at the upper c
    upper = np.broadcast_to(upper, (problems, groups))
    target = np.broadcast_to(limits.target, (problems, groups))

    def at(log_shape: Floats) -> tuple[Floats, Floats]:
        b = np.exp(log_shape)
        cut = terms.at(b)
        c = crossing(cut, peak(cut, digits=digits), target, upper, digits=digits)
        age = (level - c) / b
        in_b, in_c = cut.slopes(c)
        with np.errstate(all="ignore"):
            tangent = in_b - age * in_c
        # no hazard at all: the age is infinite and falls as shapes move away from there
        lost = ~np.isfinite(c)
        return age, np.where(lost, np.where(upper, 1.0, -1.0), tangent)

    ends = [np.broadcast_to(v, (problems, groups)) for v in (limits.low, limits.high)]
    (age_low, tan_low), (_, tan_high) = at(ends[0]), at(ends[1])
    tan_low = np.where(limits.low_open, tan_low, np.maximum(tan_low, 1e-12))
    tan_high = np.where(limits.high_open, tan_high, np.minimum(tan_high, -1e-12))
    bracketed = (tan_low > 0.0) & (tan_high < 0.0)
    where = bracketed_root(
        lambda x: at(x)[1],
        np.where(bracketed, ends[0], 0.0),
        np.where(bracketed, ends[1], 0.0),
        np.where(bracketed, tan_low, 1.0),
        np.where(bracketed, tan_high, -1.0),
        tolerance=tolerance,
        steps=steps,
    )
    age = np.where(bracketed, at(where)[0], np.where(upper, np.inf, -np.inf))
    # open ends: the limit of the age as shape runs to 0 or to infinity
    sign = np.where(upper, 1.0, -1.0)
    scaled = np.log(top.terms.typical)
    with np.errstate(all="ignore"):
        point = np.where(upper, np.log(top.edges.point_low), np.log(top.edges.point_high)) - scaled
    far = np.where(limits.high_open, point, sign * np.inf)
    runs_off = limits.low_open & ~(sign * age_low > 0.0)
    near = np.where(runs_off, -sign * np.inf, sign * np.inf)
    age = sign * np.minimum(sign * age, np.minimum(sign * far, sign * near))
    no_top = terms.all_known_by & (_no_hazard_peak(top, limits) >= limits.target)
    age = np.where(~upper & no_top, np.inf, age)
    half, where = len(hazards), np.where(bracketed, where, np.nan)
    return AgeLimits(
        low=age[:half], high=age[half:], low_log_shape=where[:half], high_log_shape=where[half:]
    )


def _no_hazard_peak(top: Peak, limits: ShapeLimits) -> Floats:
    """Largest log-likelihood with the scale at infinity, over the shapes of the region."""
    terms = top.terms
    if not terms.all_known_by.any():
        return np.full(terms.groups, -np.inf)

    def slope(log_shape: Floats) -> tuple[Floats, Floats]:
        cut = terms.at(np.exp(log_shape))
        b = np.exp(log_shape)
        return b * cut.k[1], b * cut.k[1] + b * b * cut.k[2]

    # concave in the shape: the root of its slope, or the nearer end of the range
    ends = top.scan.smallest[None], top.scan.largest[None]
    ends = closed_bracket(slope, *ends)
    best = newton_between(slope, *ends, np.log(top.shape)[None])
    return np.asarray(terms.at(np.exp(best)).at_no_hazard[0])
