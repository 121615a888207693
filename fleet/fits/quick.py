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
from fleet.fits.newton import Bounds, Source, Summit, Wanted, bound, climb, first_bounds
from fleet.fits.packed import Derivatives, Packed
from fleet.fits.rows import Floats, Ints, Mask, Rows

_TABLE_PAYS = 2_000  # terms; fewer are summed anew at every step
_MOST = 0.95  # share of the groups that must have arrived; the rest get a longer try
_SMALLEST = -6.0  # log shape; below it ages near 0 lose their meaning


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Edges:
    """What a group's rows say of the edges of its likelihood before anything is solved.

    `no_failure`; `one_age`: no life outlasts the single failure age, the likelihood has no
    bound; `ordinary`: it falls at every edge or has a concave profile.
    """

    no_failure: Mask
    one_age: Mask
    ordinary: Mask


def look_at_edges(rows: Rows) -> Edges:
    """The quick part of existence.find_edges: which groups need no closer look."""
    starts = rows.starts[:-1]
    n = rows.count
    failed = ~np.isnan(rows.high)
    known = ~np.isnan(rows.known_by)
    moved, new = rows.low > rows.entry, rows.entry == 0.0
    exact = rows.high == rows.low
    vacuous = failed & ~exact & known & ~moved & (rows.high == rows.known_by)
    failed &= ~vacuous

    def any_of(mask: Mask) -> Mask:
        return np.logical_or.reduceat(mask, starts)

    low = np.maximum.reduceat(np.where(moved, rows.low, 0.0), starts)
    bounded = failed & ~(known & (rows.high == rows.known_by))
    high = np.minimum.reduceat(np.where(bounded, rows.high, np.inf), starts)
    some = any_of(failed)
    seen = any_of(moved)
    sharp = low > high
    fails_later = any_of(new & failed & moved)
    new_good = np.add.reduceat(np.where(new & ~failed & ~vacuous & moved, n, 0.0), starts) > 0.0
    late_open = any_of(~new & failed & ~known)
    windows = any_of((failed & ~exact) | (known & ~vacuous))
    falls_at_zero = np.where(
        fails_later | new_good, fails_later | late_open, ~windows
    )  # all entered late and exact: concave profile, see newton's caller
    return Edges(
        no_failure=~some & ~any_of(vacuous),
        one_age=some & seen & any_of(exact) & ~sharp,
        ordinary=some & seen & sharp & falls_at_zero,
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Solved:
    """Log shapes and log ages (in the unit of the rows) of `groups`, and the log-likelihood.

    `top` (2, G): log shape and log scale; `ages` (hazards, G); `limits` (2 + 2 hazards, G): both
    of the shape, then of each age.
    """

    groups: Ints
    top: Floats
    ages: Floats
    limits: Floats
    value: Floats


def solve_quickly(packed: Packed, groups: Ints, z: float | None, hazards: Floats) -> Solved:
    """Solve what can be solved; `groups` numbers the groups of `packed`. No z: no limits."""
    wanted = Wanted.of(hazards)
    with np.errstate(all="ignore"):
        if packed.x.size <= _TABLE_PAYS:
            return _checked(packed, groups, z, hazards, *_patiently(packed, wanted, z))
        first = _checked(packed, groups, z, hazards, *_by_table(packed, wanted, z))
        rest = np.flatnonzero(~np.isin(groups, first.groups))
        if not len(rest):
            return first
        some = packed.take(rest)
        second = _checked(some, groups[rest], z, hazards, *_patiently(some, wanted, z))
    return Solved(
        groups=np.concatenate([first.groups, second.groups]),
        top=np.concatenate([first.top, second.top], axis=1),
        ages=np.concatenate([first.ages, second.ages], axis=1),
        limits=np.concatenate([first.limits, second.limits], axis=1),
        value=np.concatenate([first.value, second.value]),
    )


def _checked(
    packed: Packed, groups: Ints, z: float | None, hazards: Floats, top: Summit, bounds: Bounds
) -> Solved:
    """The groups whose maximum and limits stand up to every check."""
    wanted = Wanted.of(hazards)
    good = top.found[0] & bounds.found.all(axis=0) & (top.u[0] > _SMALLEST)
    if z is not None:
        good &= _in_order(top, bounds, wanted)
    look = np.flatnonzero(good & packed.risky)
    if len(look):
        good[look] &= _nothing_beyond(packed, look, top, bounds, z or 0.0)
    keep = np.flatnonzero(good)
    log_top = packed.log_top[keep]
    b = np.exp(top.u[:, keep])
    limits = np.where(wanted.of_shape, bounds.u, bounds.a)[:, keep]
    limits[2:] += log_top
    return Solved(
        groups=groups[keep],
        top=np.concatenate([top.u[:, keep], top.a[:, keep] + log_top]),
        ages=top.a[:, keep] + np.log(hazards)[:, None] / b + log_top,
        limits=limits,
        value=top.value[0, keep],
    )


def _exact(packed: Packed) -> Source:
    return Source(exposure=lambda u: packed.exposure(np.exp(u)), windows=packed.windows)


def _patiently(packed: Packed, wanted: Wanted, z: float | None) -> tuple[Summit, Bounds]:
    """With exact sums and as many steps as it takes."""
    exact = _exact(packed)
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
    exact, table = _exact(packed), tabulate(packed, packed.guess)
    quick = Source(exposure=table.at, windows=packed.windows)
    u, a = _start(packed, quick)
    top = climb(packed, quick, u, a, enough=_MOST)
    top = climb(packed, exact, top.u, top.a, enough=0.0)
    if z is None:
        return top, Bounds.unasked(top, wanted)
    limits = first_bounds(top, wanted, z)
    if len(packed.far):
        rough = Source(exposure=table.at, windows=_series(packed, top))
        b = bound(packed, rough, top, wanted, z, limits, steps=6, small=0.03, enough=0.9)
        limits = b.u, b.a
    b = bound(packed, quick, top, wanted, z, limits, steps=12, small=3e-3, enough=_MOST)
    last = (b.u, b.a)
    return top, bound(packed, exact, top, wanted, z, last, steps=1, small=0.0, enough=0.0)


def _series(packed: Packed, top: Summit) -> Callable[[Floats, Floats], Derivatives]:
    """The windows' part to second order about the maximum."""
    b0 = np.exp(top.u)
    c0 = -b0 * top.a
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
    best = np.nanargmax(np.where(np.isnan(profile), -np.inf, profile), axis=0)
    each = np.arange(packed.groups)
    return u[best, each][None], (-level / b)[best, each][None]


def _in_order(top: Summit, bounds: Bounds, wanted: Wanted) -> Mask:
    centre = np.where(wanted.of_shape, top.u, top.a + wanted.log_h / np.exp(top.u))
    limit = np.where(wanted.of_shape, bounds.u, bounds.a)
    inside = (limit - centre) * wanted.side > 0.0
    return np.asarray((inside & (bounds.u > _SMALLEST)).all(axis=0))


def _nothing_beyond(packed: Packed, look: Ints, top: Summit, bounds: Bounds, z: float) -> Mask:
    """Whether the profile stays below the target beyond the shape's limits, and below the top."""
    some = packed if len(look) == packed.groups else packed.take(look)
    best, target = top.value[0, look], top.value[0, look] - 0.5 * z * z
    low_u, high_u = bounds.u[0, look], bounds.u[1, look]
    low_a, high_a = bounds.a[0, look], bounds.a[1, look]
    middle = top.u[0, look]
    u = np.stack([low_u - 0.7, high_u + 0.7, 0.5 * (low_u + middle), 0.5 * (high_u + middle)])
    a = np.stack(
        [
            low_a,
            high_a,
            0.5 * (low_a + top.a[0, look]),
            0.5 * (high_a + top.a[0, look]),
        ]
    )
    b = np.exp(u)
    exposure = some.exposure(b)
    c = -b * a
    d = some.derivatives(b, c, exposure, some.windows(b, c))
    # concave in exp(c): Newton there never jumps over the peak from below
    c = c + np.clip(-d.c / np.minimum(d.cc - d.c, d.cc), -2.0, 2.0)
    d = some.derivatives(b, c, exposure, some.windows(b, c))
    value = d.value + 0.5 * d.c**2 / np.abs(d.cc)
    beyond, within = value[:2] < target, value[2:] <= best + 1e-7
    return np.asarray(beyond.all(axis=0) & within.all(axis=0))
