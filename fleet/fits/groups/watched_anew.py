"""Lives drawn anew from one Weibull, each watched as it was and kept in its place.

METHODS: pooling. Like families.simulate, which forgets which life is which: here a life keeps its
entry, its watch and its row, so that what is known of it (a build year, a batch) stays with it.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.families.scheme import find_scheme
from fleet.fits.groups.life_ages import Ages
from fleet.fits.rows import Floats, Ints, Mask, Rows


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Watch:
    """The watch of each life: `rows` as they are, with what the table does not say filled in.

    `left`, `left_by`: watching times and the share that has left by then (METHODS: departure).
    `steps`: how long the intervals of failures were, 0 for exact, to be borrowed by lives that
    were still good.
    """

    rows: Rows
    failed: Mask
    only: Mask  # known only because it failed
    left: Floats
    left_by: Floats
    longest: float
    steps: Floats


def watch_of(rows: Rows) -> Watch:
    """The watch of the lives of one group."""
    scheme = find_scheme(rows)
    failed, only = ~np.isnan(rows.high), ~np.isnan(rows.known_by)
    ordinary = failed & ~only
    steps = (rows.high - rows.low)[ordinary if ordinary.any() else failed]
    return Watch(
        rows=rows,
        failed=failed,
        only=only,
        left=scheme.left * scheme.unit,
        left_by=scheme.left_by,
        longest=scheme.longest * scheme.unit,
        steps=steps,
    )


def draw_anew(
    watch: Watch, shape: float, log_scale: float, draws: int, rng: np.random.Generator
) -> Ages:
    """Ages (draws, lives) of lives that survive their entry and follow this Weibull.

    A life is watched to the end of its watch: as it was where it was still good, for at least as
    long as it lasted where it failed. One known only because it failed fails within its window.
    """
    rows, size = watch.rows, (draws, len(watch.rows.entry))
    entry = np.broadcast_to(rows.entry, size)
    end = np.where(watch.failed, entry + _longer(watch, size, rng), rows.low)
    end = np.where(watch.only, rows.known_by, end)
    chance = rng.random(size)
    with np.errstate(divide="ignore", over="ignore"):
        at_entry = np.exp(shape * (np.log(entry) - log_scale))
        at_end = np.exp(shape * (np.log(end) - log_scale))
        whole = np.where(watch.only, -np.expm1(at_entry - at_end), 1.0)
        age = np.exp(np.log(at_entry - np.log1p(-chance * whole)) / shape + log_scale)
    age = np.maximum(age, np.nextafter(entry, np.inf))
    fails = watch.only | (age <= end)
    age = np.where(watch.only, np.minimum(age, end), age)
    own = np.where(watch.failed, rows.high - rows.low, 0.0)
    borrowed = (
        watch.steps[rng.integers(0, max(len(watch.steps), 1), size)]
        if len(watch.steps)
        else np.zeros(size)
    )
    step = np.where(watch.failed, own, borrowed)
    place = rng.random(size) * step
    low = np.where(step > 0.0, np.maximum(age - place, entry), age)
    high = np.where(step > 0.0, np.minimum(age - place + step, end), age)
    return Ages(
        entry=np.array(entry),
        low=np.where(fails, low, end),
        high=np.where(fails, high, np.nan),
        known_by=np.broadcast_to(rows.known_by, size).copy(),
    )


def _longer(watch: Watch, size: tuple[int, int], rng: np.random.Generator) -> Floats:
    """Watching times at least as long as each life lasted, from those that were."""
    if len(watch.left) == 0:
        return np.full(size, np.inf)
    lasted = np.where(watch.failed, watch.rows.high - watch.rows.entry, 0.0)
    by = np.concatenate([[0.0], watch.left_by])
    before = by[np.searchsorted(watch.left, lasted, "left")]
    target = 1.0 - (1.0 - before) * rng.random(size)
    at: Ints = np.searchsorted(watch.left_by, target, "left")
    times = np.append(watch.left, watch.longest)
    return np.asarray(np.maximum(times[at], lasted))
