"""Maximum and limits of the many groups that are well behaved, with proof that they are.

A group is taken only where the likelihood falls to minus infinity at every edge (or its profile
is known to be concave), Newton has arrived at a peak and at every limit, and, where the
likelihood may have several peaks, no point beyond the limits comes near. All others, and only
they, are left to the careful search of `profile` and `limits`. METHODS: weibull.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats, Ints
from fleet.fits.solver.exposure_table import tabulate
from fleet.fits.solver.newton import Source, Summit, climb
from fleet.fits.solver.packed import Derivatives, Packed
from fleet.fits.solver.profile_bounds import Bounds, Wanted, bound, first_bounds
from fleet.fits.solver.quick_checks import nothing_beyond, second_look, stands

_TABLE_PAYS = 2_000  # terms; fewer are summed anew at every step
_MOST = 0.95  # share of the groups that must have arrived; the rest get a longer try


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Solved:
    """What was solved of `groups`, ages relative to the group's t0.

    `u`, `a`: log shape and log scale at the maximum; `value`: the log-likelihood there;
    `limits` (problems, G) as wanted.
    """

    groups: Ints
    u: Floats
    a: Floats
    value: Floats
    limits: Floats

    def take(self, which: Ints) -> "Solved":
        """Some of the groups."""
        return Solved(
            groups=self.groups[which],
            u=self.u[which],
            a=self.a[which],
            value=self.value[which],
            limits=self.limits[:, which],
        )


def solve_quickly(
    packed: Packed, groups: Ints, wanted: Wanted, z: float | None, *, patience: float
) -> Solved:
    """Solve what can be solved; `groups` numbers the groups of `packed`.

    `wanted` begins with the two limits of the shape. No z: no limits, only maxima. `patience`
    is the share of the groups to wait for. With some, sums are exact throughout, steps many,
    and there is a second look where there is doubt; with none, a group that needs more than a
    few steps, or a second look, is left.
    """
    with np.errstate(all="ignore"):
        if patience > 0.0 or packed.x.size <= _TABLE_PAYS:
            found = _patiently(packed, wanted, z, patience or _MOST)
            return _checked(packed, Source.exact(packed), groups, wanted, z, *found)
        if z is not None and packed.doubtful.any():
            clear = np.flatnonzero(~packed.doubtful)
            packed, groups, wanted = packed.take(clear), groups[clear], wanted.take(clear)
        rough = packed.single()
        table = tabulate(rough, packed.guess)
        quick = Source(exposure=table.at, windows=rough.windows, noise=1e-5)
        return _checked(packed, quick, groups, wanted, z, *_by_table(packed, quick, wanted, z))


def _checked(
    packed: Packed,
    source: Source,
    groups: Ints,
    wanted: Wanted,
    z: float | None,
    top: Summit,
    bounds: Bounds,
) -> Solved:
    """The groups whose maximum and limits stand up to every check."""
    good = stands(top, bounds, wanted, z)
    look = np.flatnonzero(good & packed.risky)
    if len(look):
        good[look] &= nothing_beyond(packed, source, look, top, bounds, wanted, z or 0.0)
    limits = bounds.of(wanted)
    doubtful = np.flatnonzero(good & packed.doubtful)
    if len(doubtful) and z is not None:
        limits[:, doubtful] = second_look(packed, doubtful, top, bounds, wanted, z)
    keep = np.flatnonzero(good)
    return Solved(
        groups=groups[keep],
        u=top.u[0, keep],
        a=top.a[0, keep],
        value=top.value[0, keep],
        limits=limits[:, keep],
    )


def _patiently(
    packed: Packed, wanted: Wanted, z: float | None, patience: float
) -> tuple[Summit, Bounds]:
    """With exact sums and as many steps as it takes."""
    exact = Source.exact(packed)
    u, a = _start(packed, exact)
    top = climb(packed, exact, u, a, enough=patience)
    if z is None:
        return top, Bounds.unasked(top, wanted)
    start = first_bounds(top, wanted, z)
    return top, bound(packed, exact, top, wanted, z, start, steps=40, small=1e-6, enough=patience)


def _by_table(
    packed: Packed, quick: Source, wanted: Wanted, z: float | None
) -> tuple[Summit, Bounds]:
    """With tabulated exposures until nearly there, and one step with exact sums.

    The windows, on the way to the limits, come first from their Taylor series about the maximum.
    """
    exact = Source.exact(packed)
    u, a = _start(packed, quick)
    top = climb(packed, quick, u, a, enough=_MOST)
    top = climb(packed, exact, top.u, top.a, enough=_MOST)
    if z is None:
        return top, Bounds.unasked(top, wanted)
    at = first_bounds(top, wanted, z)
    if len(packed.far):
        rough = Source(exposure=quick.exposure, windows=_series(packed, top))
        at = bound(packed, rough, top, wanted, z, at, steps=6, small=0.03, enough=0.9)
    at = bound(packed, quick, top, wanted, z, at, steps=12, small=3e-4, enough=_MOST)
    return top, bound(packed, exact, top, wanted, z, at, steps=1, small=0.0, enough=0.0)


def _series(packed: Packed, top: Summit) -> Callable[[Floats, Floats], Derivatives]:
    """The windows' part to second order about the maximum."""
    b0, c0 = top.b, -top.b * top.a
    w = packed.windows(b0, c0)

    def windows(b: Floats, c: Floats) -> Derivatives:
        db, dc = b - b0, c - c0
        in_b, in_c = w.b + w.bb * db + w.bc * dc, w.c + w.bc * db + w.cc * dc
        return Derivatives(
            value=w.value + 0.5 * (db * (w.b + in_b) + dc * (w.c + in_c)),
            b=in_b,
            c=in_c,
            bb=w.bb,
            bc=w.bc,
            cc=w.cc,
        )

    return windows


def _start(packed: Packed, source: Source) -> tuple[Floats, Floats]:
    """The best of a few shapes when every failure is taken as exact and truncation left out."""
    u = packed.guess + np.log(2.0) * np.arange(-2.5, 2.1, 0.5)[:, None]
    b = np.exp(u)
    level = np.log(packed.failures) - np.log(source.exposure(u)[0])
    profile = packed.failures * (u + level) + b * packed.middle_x
    best = np.argmax(np.where(np.isnan(profile), -np.inf, profile), axis=0)
    each = np.arange(packed.groups)
    return u[best, each][None], (-level / b)[best, each][None]
