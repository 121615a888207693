"""Which groups are well behaved at the edges of their likelihood, told from their rows alone.

With exact failures, delayed entry and right censoring the profile over the shape b is
``b sum(x) - D log M(b)`` plus a constant, M(b) = A(b) / b the Laplace transform of the exposure
over log age: concave, as log M is convex. METHODS: existence.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Mask, Rows

_MANY = 20.0  # failures; our own rule, by trial against the careful search


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Edges:
    """What a group's rows say of the edges of its likelihood before anything is solved.

    `no_failure`; `one_age`: no life outlasts the single failure age, the likelihood has no
    bound; `ordinary`: it falls at every edge or has a concave profile; `shallow`: it falls at
    every edge but that of shape 0, where it stays finite as all entered late, and there are
    failures enough that limits do not turn twice.
    """

    no_failure: Mask
    one_age: Mask
    ordinary: Mask
    shallow: Mask


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
    # all entered late and exact: the profile over the shape is concave, so a peak is the peak
    newcomers = fails_later | new_good
    falls_at_zero = np.where(newcomers, fails_later | late_open, ~windows)
    sound = some & seen & sharp
    many = np.add.reduceat(np.where(failed, n, 0.0), starts) >= _MANY
    return Edges(
        no_failure=~some & ~any_of(vacuous),
        one_age=some & seen & any_of(exact) & ~sharp,
        ordinary=sound & falls_at_zero,
        shallow=sound & ~newcomers & windows & ~any_of(known) & many,
    )
