"""What a quick solution must stand up to before it is believed. METHODS: weibull."""

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask
from fleet.fits.solver.newton import Source, Summit
from fleet.fits.solver.packed import Packed
from fleet.fits.solver.profile_bounds import Bounds, Wanted, bound

_SMALLEST = -6.0  # log shape; below it ages near 0 lose their meaning


def stands(top: Summit, bounds: Bounds, wanted: Wanted, z: float | None) -> Mask:
    """Found, at a shape that means something, and with every limit on its own side."""
    good = top.found[0] & bounds.found.all(axis=0) & (top.u[0] > _SMALLEST)
    if z is not None:
        centre = np.where(wanted.of_shape, top.u, top.curved(wanted.path)[0])
        good &= ((bounds.of(wanted) - centre) * wanted.side > 0.0).all(axis=0)
        good &= (bounds.u > _SMALLEST).all(axis=0)
    return np.asarray(good)


def nothing_beyond(
    packed: Packed,
    source: Source,
    look: Ints,
    top: Summit,
    bounds: Bounds,
    wanted: Wanted,
    z: float,
) -> Mask:
    """Whether the profile stays below the target beyond the shape's limits, and below the top.

    Tried at two shapes beyond and two within the limits: with truncation there may be a second
    peak.
    """
    if len(look) < packed.groups:
        packed = packed.take(look)
        source = Source.exact(packed)
    best, middle_u, middle_a = top.value[0, look], top.u[0, look], top.a[0, look]
    u = bounds.u[:2, look]
    a = -wanted.path.turned(np.exp(bounds.u), bounds.v).c[:2, look] / np.exp(u)
    u = np.concatenate([u + np.array([[-0.7], [0.7]]), 0.5 * (u + middle_u)])
    b = np.exp(u)
    c = -b * np.concatenate([a, 0.5 * (a + middle_a)])
    exposure = source.exposure(u)
    d = packed.derivatives(b, c, exposure, source.windows(b, c))
    # concave in exp(c): Newton there never jumps over the peak from below
    c = c + np.clip(-d.c / np.minimum(d.cc - d.c, d.cc), -2.0, 2.0)
    d = packed.derivatives(b, c, exposure, source.windows(b, c))
    slack = 1e-7 + source.noise * (1.0 + np.abs(best))
    value = d.value + 0.5 * d.c**2 / np.abs(d.cc)
    beyond, within = value[:2] < best - 0.5 * z * z, value[2:] <= best + slack
    return np.asarray(beyond.all(axis=0) & within.all(axis=0))


def second_look(
    packed: Packed, look: Ints, top: Summit, bounds: Bounds, wanted: Wanted, z: float
) -> Floats:
    """Limits of doubtful groups, also approached from smaller and from larger shapes.

    Where most failures are known only because they happened, the edge of the region may turn
    twice; the furthest turn is the limit.
    """
    some, summit = packed.take(look), top.take(look)
    own = Wanted(
        path=wanted.path.take(look).part(slice(2, None)),
        of_shape=wanted.of_shape[2:],
        side=wanted.side[2:],
    )
    limits, v = bounds.of(wanted)[:, look], bounds.v[2:, look]
    for shape in bounds.u[:2, look]:
        u = summit.u + 0.6 * (shape - summit.u) + np.zeros(v.shape)
        start = Bounds(u=u, v=v, found=np.zeros(v.shape, dtype=bool))
        again = bound(
            some, Source.exact(some), summit, own, z, start, steps=12, small=1e-6, enough=0.95
        )
        further = again.found & ((again.v - limits[2:]) * own.side > 0.0)
        limits[2:] = np.where(further, again.v, limits[2:])
    return limits
