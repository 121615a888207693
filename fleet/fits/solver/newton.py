"""Newton on (log shape, log scale) to the maxima of many Weibull likelihoods. METHODS: weibull."""

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask
from fleet.fits.solver.packed import Derivatives, Packed
from fleet.fits.solver.paths import LogAge, Path, Sloped, chain

_STEPS = 30
_FAR = 1.0  # the longest step in log shape
_SCALE = LogAge(log_h=0.0)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Source:
    """Where the two parts of the log-likelihood are read off: exact sums or approximations.

    `exposure`: log shapes (problems, G) to (3, problems, G); `windows`: b and c to derivatives.
    `noise`: how far off a log-likelihood may be, as a share of it.
    """

    exposure: Callable[[Floats], Floats]
    windows: Callable[[Floats, Floats], Derivatives]
    noise: float = 1e-9

    @classmethod
    def exact(cls, packed: Packed) -> "Source":
        """The sums themselves."""
        return cls(exposure=lambda u: packed.exposure(np.exp(u)), windows=packed.windows)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Summit:
    """A maximum, arrays (1, G): log shape u, log scale a relative to t0, c = -exp(u) a.

    `bb`, `bc`, `cc`: curvatures of the log-likelihood in shape and c.
    """

    u: Floats
    a: Floats
    value: Floats
    bb: Floats
    bc: Floats
    cc: Floats
    found: Mask

    def take(self, groups: Ints) -> "Summit":
        """Some of the groups."""
        return Summit(**{f.name: getattr(self, f.name)[:, groups] for f in fields(self)})

    @property
    def b(self) -> Floats:
        """The shape."""
        return np.exp(self.u)

    def curved(self, path: Path) -> tuple[Floats, Sloped]:
        """The value of a quantity at the maximum, and the curvatures in (u, it)."""
        b, none = self.b, np.zeros(self.u.shape)
        v = path.value(b, -b * self.a)
        flat = Derivatives(value=self.value, b=none, c=none, bb=self.bb, bc=self.bc, cc=self.cc)
        return v, chain(b, flat, path.turned(b, v))


def sloped(packed: Packed, source: Source, path: Path, u: Floats, v: Floats) -> Sloped:
    """The log-likelihood at (u, v), arrays (problems, G)."""
    b = np.exp(u)
    turned = path.turned(b, v)
    d = packed.derivatives(b, turned.c, source.exposure(u), source.windows(b, turned.c))
    return chain(b, d, turned)


def climb(packed: Packed, source: Source, u: Floats, a: Floats, *, enough: float) -> Summit:
    """The maximum near (u, a), by Newton steps that are shortened where the likelihood would fall.

    Ends when a share of the groups above `enough` has arrived (0: after one step). `found`
    where the last step was so short that its error is below rounding.
    """
    at = sloped(packed, source, _SCALE, u, a)
    size = np.ones(u.shape)
    found = np.zeros(u.shape, dtype=bool)
    for _ in range(_STEPS):
        step_u, step_a = _ascent(at)
        longest = np.maximum(np.abs(step_u), 0.5 * np.abs(step_a))
        found |= longest < 1e-5
        scale = np.minimum(1.0, _FAR / np.where(longest > 0.0, longest, 1.0)) * size
        new_u, new_a = u + scale * step_u, a + scale * step_a
        new = sloped(packed, source, _SCALE, new_u, new_a)
        # rounding may hide the rise of the last steps
        better = (new.value >= at.value - source.noise * (1.0 + np.abs(at.value))) & np.isfinite(
            new.vv
        )
        u, a = np.where(better, new_u, u), np.where(better, new_a, a)
        at = _choose(better, new, at)
        size = np.where(better, 1.0, 0.25 * size)
        if np.mean(found & better) >= enough:
            break
    b = np.exp(u)
    d_cc = at.vv / b**2
    with np.errstate(all="ignore"):
        peaked = (at.vv < 0.0) & (at.uu < 0.0) & (at.uu * at.vv > at.uv**2)
        # back to (b, c); the slopes are 0
        d_bc = a * d_cc - at.uv / b**2
        d_bb = at.uu / b**2 + 2.0 * a * d_bc - a * a * d_cc
    return Summit(
        u=u, a=a, value=at.value, bb=d_bb, bc=d_bc, cc=d_cc, found=found & better & peaked
    )


def _ascent(at: Sloped) -> tuple[Floats, Floats]:
    """The Newton step; where the surface does not bend down, a step uphill."""
    with np.errstate(all="ignore"):
        det = at.uu * at.vv - at.uv**2
        down = (at.uu < 0.0) & (at.vv < 0.0) & (det > 1e-12 * at.uu * at.vv)
        u = np.where(down, -(at.vv * at.u - at.uv * at.v) / det, at.u / np.abs(at.uu))
        a = np.where(down, -(at.uu * at.v - at.uv * at.u) / det, at.v / np.abs(at.vv))
    return np.where(np.isfinite(u), u, 0.0), np.where(np.isfinite(a), a, 0.0)


def _choose(better: Mask, new: Sloped, old: Sloped) -> Sloped:
    return Sloped(
        value=np.where(better, new.value, old.value),
        u=np.where(better, new.u, old.u),
        v=np.where(better, new.v, old.v),
        uu=np.where(better, new.uu, old.uu),
        uv=np.where(better, new.uv, old.uv),
        vv=np.where(better, new.vv, old.vv),
    )
