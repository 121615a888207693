"""Departures of groups that truly live alike, watched as each was. METHODS: lives-alike."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.families.scheme import find_scheme
from fleet.fits.families.simulate import draw_lives
from fleet.fits.rows import Floats, Ints, Rows
from fleet.fits.suspects.deviation import deviations
from fleet.fits.suspects.fit_near import fit_near

_AT_ONCE = 200_000  # drawn rows fitted together


def redrawn_deviations(
    rows: Rows, shape: float, log_scale: float, *, draws: int, seed: int
) -> Floats:
    """Deviations (fleets drawn, groups) where all groups have this Weibull, each drawn fleet held
    against its own fit. Every group is watched as its lives were (METHODS: departure): entries,
    windows, looks and how long a life that failed would have been watched on.

    Fewer rows than `draws` where drawn fleets have no fit.
    """
    schemes = [find_scheme(rows.take(g, g + 1)) for g in range(rows.groups)]
    size = sum(scheme.size for scheme in schemes)
    rng = np.random.default_rng(seed)
    out = [np.zeros((0, rows.groups))]
    while draws > 0:
        now = min(draws, max(1, _AT_ONCE // max(size, 1)))
        drawn = []
        for scheme in schemes:
            seen, _ = draw_lives(scheme, shape, log_scale - np.log(scheme.unit), now, rng)
            drawn.append(_scaled(seen, scheme.unit))
        out.append(against_own_fit(_woven(drawn), rows.groups, shape)[0])
        draws -= now
    return np.concatenate(out)


def against_own_fit(rows: Rows, groups: int, near: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Deviations and excess failures (fleets, groups) of fleets of `groups` consecutive groups,
    each against the fit of the whole fleet with a shape not far from `near`, and those fits'
    shapes and log scales; fleets that fix no scale are left out.
    """
    whole = Rows(
        keys=pl.DataFrame(), starts=rows.starts[::groups], entry=rows.entry, low=rows.low,
        high=rows.high, known_by=rows.known_by, count=rows.count,
    )  # fmt: skip
    shape, log_scale = fit_near(whole, near)
    there = np.isfinite(log_scale)
    level = np.where(there, log_scale, 0.0)
    root, excess = deviations(rows, np.repeat(shape, groups), np.repeat(level, groups))
    by_fleet = (len(shape), groups)
    return (
        root.reshape(by_fleet)[there],
        excess.reshape(by_fleet)[there],
        shape[there],
        log_scale[there],
    )


def _scaled(rows: Rows, unit: float) -> Rows:
    return Rows(
        keys=rows.keys, starts=rows.starts, entry=rows.entry * unit, low=rows.low * unit,
        high=rows.high * unit, known_by=rows.known_by * unit, count=rows.count,
    )  # fmt: skip


def _woven(parts: Sequence[Rows]) -> Rows:
    """Fleet by fleet, the groups of each fleet one after another."""
    groups = len(parts)
    place: list[Ints] = [
        np.repeat(np.arange(part.groups) * groups + g, np.diff(part.starts))
        for g, part in enumerate(parts)
    ]
    code = np.concatenate(place)
    order = np.argsort(code, kind="stable")
    sizes = np.bincount(code, minlength=parts[0].groups * groups)

    def joined(name: str) -> Floats:
        return np.concatenate([getattr(part, name) for part in parts])[order]

    return Rows(
        keys=pl.DataFrame(),
        starts=np.concatenate(([0], np.cumsum(sizes))).astype(np.int64),
        entry=joined("entry"),
        low=joined("low"),
        high=joined("high"),
        known_by=joined("known_by"),
        count=joined("count"),
    )
