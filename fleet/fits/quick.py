"""Maximum and limits of the many groups that are well behaved, with proof that they are.

A group is taken only where the likelihood falls to minus infinity at every edge (or its profile
is known to be concave), Newton has arrived at a peak and at every limit, and, where the
likelihood may have several peaks, no point beyond the limits comes near. All others, and only
they, are left to the careful search of `profile` and `limits`. METHODS: weibull.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.fits.exposure_table import tabulate
from fleet.fits.newton import Source, Summit, climb
from fleet.fits.packed import Derivatives, Packed
from fleet.fits.profile_bounds import Bounds, Wanted, bound, first_bounds
from fleet.fits.quick_checks import nothing_beyond, second_look, stands
from fleet.fits.rows import Floats, Ints

_TABLE_PAYS = 2_000  # terms; fewer are summed anew at every step
_MOST = 0.95  # share of the groups that must have arrived; the rest get a longer try


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Solved:
    """What was solved of `groups`, ages relative to the group's t0.

    `u`, `a`, `c`: log shape, log scale and c at the maximum; `value`: the log-likelihood there;
    `limits` (problems, G) as wanted.
    """

    groups: Ints
    u: Floats
    a: Floats
    value: Floats
    limits: Floats


def solve_quickly(packed: Packed, groups: Ints, wanted: Wanted, z: float | None) -> Solved:
    """Solve what can be solved; `groups` numbers the groups of `packed`.

    `wanted` begins with the two limits of the shape. No z: no limits, only maxima.
    """
    with np.errstate(all="ignore"):
        if packed.x.size <= _TABLE_PAYS:
            return _checked(packed, groups, wanted, z, *_patiently(packed, wanted, z))
        first = _checked(packed, groups, wanted, z, *_by_table(packed, wanted, z))
        rest = np.flatnonzero(~np.isin(groups, first.groups))
        if not len(rest):
            return first
        some, own = packed.take(rest), wanted.take(rest)
        second = _checked(some, groups[rest], own, z, *_patiently(some, own, z))
    return Solved(
        groups=np.concatenate([first.groups, second.groups]),
        u=np.concatenate([first.u, second.u]),
        a=np.concatenate([first.a, second.a]),
        value=np.concatenate([first.value, second.value]),
        limits=np.concatenate([first.limits, second.limits], axis=1),
    )


def _checked(
    packed: Packed, groups: Ints, wanted: Wanted, z: float | None, top: Summit, bounds: Bounds
) -> Solved:
    """The groups whose maximum and limits stand up to every check."""
    good = stands(top, bounds, wanted, z)
    look = np.flatnonzero(good & packed.risky)
    if len(look):
        good[look] &= nothing_beyond(packed, look, top, bounds, wanted, z or 0.0)
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


def _patiently(packed: Packed, wanted: Wanted, z: float | None) -> tuple[Summit, Bounds]:
    """With exact sums and as many steps as it takes."""
    exact = Source.exact(packed)
    u, a = _start(packed, exact)
    top = climb(packed, exact, u, a, enough=1.0)
    if z is None:
        return top, Bounds.unasked(top, wanted)
    start = first_bounds(top, wanted, z)
    return top, bound(packed, exact, top, wanted, z, start, steps=40, small=1e-9, enough=1.0)


def _by_table(packed: Packed, wanted: Wanted, z: float | None) -> tuple[Summit, Bounds]:
    """With approximations until nearly there, and one step with exact sums.

    Exposures come from a table; the windows, on the way to the limits, first from their Taylor
    series about the maximum.
    """
    exact, table = Source.exact(packed), tabulate(packed, packed.guess)
    quick = Source(exposure=table.at, windows=packed.windows)
    u, a = _start(packed, quick)
    top = climb(packed, quick, u, a, enough=_MOST)
    top = climb(packed, exact, top.u, top.a, enough=0.0)
    if z is None:
        return top, Bounds.unasked(top, wanted)
    at = first_bounds(top, wanted, z)
    if len(packed.far):
        rough = Source(exposure=table.at, windows=_series(packed, top))
        at = bound(packed, rough, top, wanted, z, at, steps=6, small=0.03, enough=0.9)
    at = bound(packed, quick, top, wanted, z, at, steps=12, small=3e-3, enough=_MOST)
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
