"""The search that any likelihood can be left to: brackets first, Newton only within them."""

import numpy as np

from fleet.fits.roots import normal_quantile
from fleet.fits.rows import Floats, Ints, Mask, Rows
from fleet.fits.solver.fitted import Fits
from fleet.fits.solver.limits import AgeLimits, ShapeLimits, age_limits, shape_limits
from fleet.fits.solver.newton import Source, Summit
from fleet.fits.solver.packed import Packed, pack
from fleet.fits.solver.paths import LogAge
from fleet.fits.solver.profile import Peak, find_peak
from fleet.fits.solver.profile_bounds import Bounds, Wanted, bound
from fleet.fits.solver.reasons import reasons, why_none

_ROUGH = 0.02  # in log shape: near enough for Newton to take over
_NEAR = 0.5  # further than this Newton has gone elsewhere


def search(rows: Rows, level: float, hazards: Floats) -> tuple[Peak, ShapeLimits, AgeLimits]:
    """Maximum and limits of each group of `rows` by bracketing, whatever the likelihood does."""
    drop = 0.5 * normal_quantile(0.5 + level / 2.0) ** 2
    top = find_peak(rows, drop)
    limits = shape_limits(top, drop)
    return top, limits, age_limits(top, limits, hazards)


def solve_carefully(
    rows: Rows, groups: Ints, level: float | None, hazards: Floats, fits: Fits
) -> None:
    """Fill in `fits` for `groups`, whose rows are `rows`, whatever their likelihood does."""
    drop = 0.5 * normal_quantile(0.5 + (level or 0.95) / 2.0) ** 2
    top = find_peak(rows, drop)
    typical = top.terms.typical
    with np.errstate(all="ignore"):
        at = typical * np.exp((np.log(hazards)[:, None] - top.c) / top.shape)
        scale = typical * np.exp(-top.c / top.shape)
    fits.exists[groups] = top.exists
    fits.shape[groups] = np.where(top.exists, top.shape, np.nan)
    fits.scale[groups] = np.where(top.exists, scale, np.nan)
    fits.ages[:, groups] = np.where(top.exists, at, np.nan)
    fits.value[groups] = np.where(top.exists, top.value, np.nan)
    fits.supremum[groups] = np.where(top.unlimited, np.inf, top.value)
    if level is None:
        fits.reason[groups] = why_none(top, fits.failures[groups])
        return
    limits = shape_limits(top, drop)
    ages = _ages(rows, top, limits, hazards, drop)
    some = ~top.unlimited & ~top.edges.all_before_look
    shaped = some & ~top.edges.no_failure
    with np.errstate(all="ignore"):
        low, high = typical * np.exp(ages.low), typical * np.exp(ages.high)
        shape_low, shape_high = np.exp(limits.low), np.exp(limits.high)
    fits.limits[0, groups] = np.where(shaped & ~limits.low_open, shape_low, np.nan)
    fits.limits[1, groups] = np.where(shaped & ~limits.high_open, shape_high, np.nan)
    fits.limits[2::2, groups] = np.where(some, low, np.nan)
    fits.limits[3::2, groups] = np.where(some, high, np.nan)
    fits.reason[groups] = reasons(top, limits, ages, fits.failures[groups])


def _ages(rows: Rows, top: Peak, limits: ShapeLimits, hazards: Floats, drop: float) -> AgeLimits:
    """Limits of ages: tangents found roughly by brackets, then by Newton where that holds."""
    rough = age_limits(top, limits, hazards, tolerance=_ROUGH)
    with np.errstate(all="ignore"):
        ages, sure = _polished(pack(rows), top, rough, hazards, np.sqrt(2.0 * drop))
    left = np.flatnonzero(~sure)
    if len(left):
        some = rows.rows(left)
        peak = find_peak(some, drop)
        fine = age_limits(peak, shape_limits(peak, drop), hazards)
        for ours, theirs in (
            (ages.low, fine.low),
            (ages.high, fine.high),
            (ages.low_log_shape, fine.low_log_shape),
            (ages.high_log_shape, fine.high_log_shape),
        ):
            ours[:, left] = theirs
    return ages


def _polished(
    packed: Packed, top: Peak, rough: AgeLimits, hazards: Floats, z: Floats
) -> tuple[AgeLimits, Mask]:
    """Tangent points by Newton, and the groups whose every tangent was met near the rough one."""
    half = len(hazards)
    u = np.concatenate([rough.low_log_shape, rough.high_log_shape])
    v = np.concatenate([rough.low, rough.high])
    tangent = np.isfinite(u) & np.isfinite(v)
    side = np.repeat([-1.0, 1.0], half)[:, None]
    path = LogAge(log_h=np.tile(np.log(hazards), 2)[:, None])
    wanted = Wanted(path=path, of_shape=np.zeros(side.shape, dtype=bool), side=side)
    u, v = np.where(tangent, u, 0.0), np.where(tangent, v, 0.0)
    # a point one step inwards stands in for the maximum, which need not exist
    inward = v - side
    none = np.zeros(u.shape)
    middle = Summit(
        u=u,
        a=inward - path.log_h / np.exp(u),
        value=top.value[None],
        bb=none,
        bc=none,
        cc=none,
        found=tangent,
    )
    start = Bounds(u=u, v=v, found=tangent)
    near = bound(
        packed,
        Source.exact(packed),
        middle,
        wanted,
        float(z),
        start,
        steps=12,
        small=1e-9,
        enough=1.0,
    )
    met = near.found & (np.abs(near.u - u) < _NEAR) & ((near.v - v) * side > -1e-9)
    sure = (met | ~tangent).all(axis=0) & ~packed.short_watch & ~packed.short_window
    where = np.concatenate([rough.low_log_shape, rough.high_log_shape])
    shape, age = np.where(tangent, near.u, where), np.where(tangent, near.v, v)
    age = np.where(tangent, age, np.concatenate([rough.low, rough.high]))
    ages = AgeLimits(
        low=age[:half], high=age[half:], low_log_shape=shape[:half], high_log_shape=shape[half:]
    )
    return ages, sure
