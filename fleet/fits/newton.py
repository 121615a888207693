"""Newton on (log shape, log age) for many Weibull likelihoods at once. METHODS: weibull.

A point is (u, a): u = log shape, a = the log age (relative to t0) at which the cumulative hazard
is h, so that ``c = log h - exp(u) a``; with h = 1, a is the log scale.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.fits.packed import Derivatives, Packed
from fleet.fits.rows import Floats, Mask


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Source:
    """Where the two parts of the log-likelihood are read off: exact sums or approximations.

    `exposure`: log shapes (problems, G) to (3, problems, G); `windows`: b and c to derivatives.
    """

    exposure: Callable[[Floats], Floats]
    windows: Callable[[Floats, Floats], Derivatives]


_STEPS = 30
_RISE = 1.5  # the most by which one step may raise the log hazard at the largest age
_FAR = 1.0  # the longest step in log shape


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Sloped:
    """Log-likelihood and its derivatives in u and a."""

    value: Floats
    u: Floats
    a: Floats
    uu: Floats
    ua: Floats
    aa: Floats


def sloped(packed: Packed, source: Source, u: Floats, a: Floats, log_h: Floats | float) -> Sloped:
    """The log-likelihood at (u, a), arrays (problems, G)."""
    b = np.exp(u)
    c = log_h - b * a
    d = packed.derivatives(b, c, source.exposure(u), source.windows(b, c))
    along = b * (d.b - a * d.c)  # along u the line c = log h - b a is followed
    turn = d.bb - 2.0 * a * d.bc + a * a * d.cc
    return Sloped(
        value=d.value,
        u=along,
        a=-b * d.c,
        uu=along + b * b * turn,
        ua=-b * d.c - b * b * (d.bc - a * d.cc),
        aa=b * b * d.cc,
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Summit:
    """A maximum in log shape and log scale (relative to t0), arrays (1, G)."""

    u: Floats
    a: Floats
    value: Floats
    uu: Floats
    ua: Floats
    aa: Floats
    found: Mask


def climb(packed: Packed, source: Source, u: Floats, a: Floats, *, enough: float) -> Summit:
    """The maximum near (u, a), by Newton steps that are shortened where the likelihood would fall.

    Ends when a share of the groups above `enough` has arrived (0: after one step). `found`
    where the last step was so short that its error is below rounding.
    """
    at = sloped(packed, source, u, a, 0.0)
    size = np.ones(u.shape)
    found = np.zeros(u.shape, dtype=bool)
    for _ in range(_STEPS):
        step_u, step_a = _ascent(at)
        longest = np.maximum(np.abs(step_u), 0.5 * np.abs(step_a))
        found |= longest < 1e-5
        scale = np.minimum(1.0, _FAR / np.where(longest > 0.0, longest, 1.0)) * size
        new_u, new_a = u + scale * step_u, a + scale * step_a
        new = sloped(packed, source, new_u, new_a, 0.0)
        # rounding may hide the rise of the last steps
        better = (new.value >= at.value - 1e-9 * (1.0 + np.abs(at.value))) & np.isfinite(new.aa)
        u, a = np.where(better, new_u, u), np.where(better, new_a, a)
        at = _choose(better, new, at)
        size = np.where(better, 1.0, 0.25 * size)
        if np.mean(found & better) >= enough:
            break
    peaked = (at.aa < 0.0) & (at.uu < 0.0) & (at.uu * at.aa > at.ua**2)
    return Summit(
        u=u, a=a, value=at.value, uu=at.uu, ua=at.ua, aa=at.aa, found=found & better & peaked
    )


def _ascent(at: Sloped) -> tuple[Floats, Floats]:
    """The Newton step; where the surface does not bend down, a step uphill."""
    with np.errstate(all="ignore"):
        det = at.uu * at.aa - at.ua**2
        down = (at.uu < 0.0) & (at.aa < 0.0) & (det > 1e-12 * at.uu * at.aa)
        u = np.where(down, -(at.aa * at.u - at.ua * at.a) / det, at.u / np.abs(at.uu))
        a = np.where(down, -(at.uu * at.a - at.ua * at.u) / det, at.a / np.abs(at.aa))
    return np.where(np.isfinite(u), u, 0.0), np.where(np.isfinite(a), a, 0.0)


def _choose(better: Mask, new: Sloped, old: Sloped) -> Sloped:
    return Sloped(
        value=np.where(better, new.value, old.value),
        u=np.where(better, new.u, old.u),
        a=np.where(better, new.a, old.a),
        uu=np.where(better, new.uu, old.uu),
        ua=np.where(better, new.ua, old.ua),
        aa=np.where(better, new.aa, old.aa),
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Bounds:
    """Profile limits of `Wanted` quantities, (problems, G); `found` where they hold."""

    u: Floats
    a: Floats
    found: Mask

    @classmethod
    def unasked(cls, top: Summit, wanted: "Wanted") -> "Bounds":
        """No limits: as wide as two and a half standard errors of the shape, for later checks."""
        with np.errstate(all="ignore"):
            spread = np.sqrt(-top.aa / (top.uu * top.aa - top.ua**2))
        u = top.u + 2.5 * wanted.side * np.minimum(spread, 1.0)
        return cls(u=u, a=top.a + np.zeros(u.shape), found=np.ones(u.shape, dtype=bool))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Wanted:
    """What to bound: per problem the log hazard of the age, whether it is the shape, the side."""

    log_h: Floats
    of_shape: Mask
    side: Floats

    @staticmethod
    def of(hazards: Floats) -> "Wanted":
        """Both sides of the shape, then of the age at each cumulative hazard."""
        log_h = np.concatenate([[0.0], np.log(hazards)])
        return Wanted(
            log_h=np.repeat(log_h, 2)[:, None],
            of_shape=np.repeat(np.arange(len(log_h)) == 0, 2)[:, None],
            side=np.tile([-1.0, 1.0], len(log_h))[:, None],
        )


def first_bounds(top: Summit, wanted: Wanted, z: float) -> tuple[Floats, Floats]:
    """Where limits would lie if the log-likelihood were quadratic in (u, a)."""
    b = np.exp(top.u)
    a = top.a + wanted.log_h / b
    slope = -wanted.log_h / b  # of a in u along a constant scale
    # second derivatives in (u, a of the wanted hazard): a_scale = a - log h / b
    uu = top.uu - 2.0 * slope * top.ua + slope**2 * top.aa
    ua = top.ua - slope * top.aa
    aa = top.aa
    det = uu * aa - ua * ua
    with np.errstate(all="ignore"):
        spread = np.where(wanted.of_shape, np.sqrt(-aa / det), np.sqrt(-uu / det))
        follow = np.where(wanted.of_shape, -ua / aa, -ua / uu)
    move = wanted.side * z * spread
    move = np.clip(move, -1.5, 1.5)
    u = top.u + np.where(wanted.of_shape, move, move * follow)
    return u, a + np.where(wanted.of_shape, move * follow, move)


def bound(
    packed: Packed,
    source: Source,
    top: Summit,
    wanted: Wanted,
    z: float,
    start: tuple[Floats, Floats],
    *,
    steps: int,
    small: float,
    enough: float,
) -> Bounds:
    """Profile-likelihood limits, all problems and groups at once.

    Newton on the signed root of the fall in log-likelihood along the profile: with v the other
    parameter, the profile at the present point is ``l - l_v^2 / (2 l_vv)`` and its slope
    ``l_p - l_pv l_v / l_vv`` (Venzon and Moolgavkar 1988, Applied Statistics 37:87-94; the root
    makes the equation nearly straight). Ends after `steps`, or when a share of the groups above
    `enough` moves by less than `small`. `found` where the last step was small and the profile
    bends down and falls outwards there.
    """
    u, a = start
    centre_a = top.a + wanted.log_h / np.exp(top.u)
    found = np.zeros(u.shape, dtype=bool)
    for _ in range(steps):
        at = sloped(packed, source, u, a, wanted.log_h)
        with np.errstate(all="ignore"):
            p = np.where(wanted.of_shape, at.u, at.a)
            v = np.where(wanted.of_shape, at.a, at.u)
            vv = np.where(wanted.of_shape, at.aa, at.uu)
            slope = p - at.ua * v / vv
            fall = np.sqrt(np.maximum(2.0 * (top.value - at.value) + v * v / vv, 1e-12))
            step = (fall - z) * fall / slope
            away = np.where(wanted.of_shape, u - top.u, a - centre_a)
            most = 0.7 * np.abs(away) + 1e-3
            step = np.clip(step, -most, most)
            follow = np.clip(-(v + at.ua * step) / vv, -_FAR, _FAR)
        good = (vv < 0.0) & (slope * wanted.side < 0.0) & np.isfinite(step) & np.isfinite(follow)
        # where the surface does not bend as it should, back half the way
        other = np.where(wanted.of_shape, a - centre_a, u - top.u)
        step, follow = np.where(good, step, -0.5 * away), np.where(good, follow, -0.5 * other)
        # hazards grow exponentially: a step that raises them much would overshoot for long
        move_u, move_a = (
            np.where(wanted.of_shape, step, follow),
            np.where(wanted.of_shape, follow, step),
        )
        rise = -np.exp(u) * (np.expm1(move_u) * (a + move_a) + move_a)
        short = np.minimum(1.0, _RISE / np.maximum(rise, _RISE))
        step, follow = step * short, follow * short
        found = good & (np.abs(step) < 1e-5) & (np.abs(follow) < 1e-4)
        u = u + np.where(wanted.of_shape, step, follow)
        a = a + np.where(wanted.of_shape, follow, step)
        near = good & (np.maximum(np.abs(step), np.abs(follow)) < small)
        if np.mean(near.all(axis=0)) >= enough:
            break
    return Bounds(u=u, a=a, found=found)
