"""Profile-likelihood limits of many fits by Newton. METHODS: profile-limits."""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask
from fleet.fits.solver.newton import Source, Summit, sloped
from fleet.fits.solver.packed import Packed
from fleet.fits.solver.paths import Path

_RISE = 1.5  # the most by which one step may raise the log hazard at the largest age
_FAR = 1.0  # the longest step of the other parameter


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Wanted:
    """What to bound, one row a problem: a quantity or (`of_shape`) the shape, on which `side`."""

    path: Path
    of_shape: Mask
    side: Floats

    def take(self, groups: Ints) -> "Wanted":
        """What is wanted of some groups."""
        return Wanted(path=self.path.take(groups), of_shape=self.of_shape, side=self.side)


def want(path: Path, quantities: int) -> Wanted:
    """Both limits of the shape, then of each quantity of `path`, whose problems are as many."""
    return Wanted(
        path=path,
        of_shape=np.repeat(np.arange(quantities + 1) == 0, 2)[:, None],
        side=np.tile([-1.0, 1.0], quantities + 1)[:, None],
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Bounds:
    """Profile limits of what was wanted, as points (u, v), (problems, G); `found`: they hold."""

    u: Floats
    v: Floats
    found: Mask

    def of(self, wanted: Wanted) -> Floats:
        """The limits themselves."""
        return np.where(wanted.of_shape, self.u, self.v)

    @classmethod
    def unasked(cls, top: Summit, wanted: Wanted) -> "Bounds":
        """No limits: two and a half standard errors of the shape, for later checks."""
        v, at = top.curved(wanted.path)
        with np.errstate(all="ignore"):
            spread = np.sqrt(-at.vv / (at.uu * at.vv - at.uv**2))
        u = top.u + 2.5 * wanted.side * np.minimum(spread, 1.0)
        return cls(u=u, v=v + np.zeros(u.shape), found=np.ones(u.shape, dtype=bool))


def first_bounds(top: Summit, wanted: Wanted, z: float) -> Bounds:
    """Where limits would lie if the log-likelihood were quadratic in (u, v)."""
    v, at = top.curved(wanted.path)
    with np.errstate(all="ignore"):
        det = at.uu * at.vv - at.uv * at.uv
        spread = np.sqrt(np.where(wanted.of_shape, -at.vv, -at.uu) / det)
        follow = -at.uv / np.where(wanted.of_shape, at.vv, at.uu)
    move = np.clip(wanted.side * z * spread, -1.5, 1.5)
    u = top.u + np.where(wanted.of_shape, move, move * follow)
    v = v + np.where(wanted.of_shape, move * follow, move)
    return Bounds(u=u, v=v, found=np.zeros(u.shape, dtype=bool))


def bound(
    packed: Packed,
    source: Source,
    top: Summit,
    wanted: Wanted,
    z: float,
    start: Bounds,
    *,
    steps: int,
    small: float,
    enough: float,
) -> Bounds:
    """Profile-likelihood limits, all problems and groups at once, from `start`.

    Newton on the signed root of the fall in log-likelihood along the profile: with o the other
    parameter, the profile at the present point is ``l - l_o^2 / (2 l_oo)`` and its slope
    ``l_w - l_wo l_o / l_oo`` (Venzon and Moolgavkar 1988, Applied Statistics 37:87-94; the root
    makes the equation nearly straight). Ends after `steps`, or when a share of the groups above
    `enough` moves by less than `small`. `found` where the last step was small and the profile
    bends down and falls outwards there.
    """
    u, v = start.u, start.v
    centre, _ = top.curved(wanted.path)
    for _ in range(steps):
        at = sloped(packed, source, wanted.path, u, v)
        own = np.where(wanted.of_shape, at.u, at.v)
        other = np.where(wanted.of_shape, at.v, at.u)
        bend = np.where(wanted.of_shape, at.vv, at.uu)
        away = np.where(wanted.of_shape, u - top.u, v - centre)
        with np.errstate(all="ignore"):
            slope = own - at.uv * other / bend
            fall = np.sqrt(np.maximum(2.0 * (top.value - at.value) + other**2 / bend, 1e-12))
            most = 0.7 * np.abs(away) + 1e-3
            step = np.clip((fall - z) * fall / slope, -most, most)
            follow = np.clip(-(other + at.uv * step) / bend, -_FAR, _FAR)
        good = (bend < 0.0) & (slope * wanted.side < 0.0)
        good &= np.isfinite(step) & np.isfinite(follow)
        # where the surface does not bend as it should, back half the way
        back = np.where(wanted.of_shape, v - centre, u - top.u)
        step, follow = np.where(good, step, -0.5 * away), np.where(good, follow, -0.5 * back)
        move_u = np.where(wanted.of_shape, step, follow)
        move_v = np.where(wanted.of_shape, follow, step)
        short = _shorten(wanted.path, u, v, move_u, move_v)
        step, follow = step * short, follow * short
        u, v = u + short * move_u, v + short * move_v
        longest = np.maximum(np.abs(step), 0.1 * np.abs(follow))
        if np.mean((good & (longest < small)).all(axis=0)) >= enough:
            break
    return Bounds(u=u, v=v, found=good & (longest < 1e-5))


def _shorten(path: Path, u: Floats, v: Floats, move_u: Floats, move_v: Floats) -> Floats:
    """How much of a step to take: hazards grow exponentially and would overshoot for long."""
    now = path.turned(np.exp(u), v).c
    then = path.turned(np.exp(u + move_u), v + move_v).c
    return np.asarray(np.minimum(1.0, _RISE / np.maximum(then - now, _RISE)))
