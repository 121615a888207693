"""Turnbull's estimate with left, interval, right and double truncation. METHODS: turnbull.

Without windows known from above the likelihood is concave in the hazards, without delayed
entries in the hazards of time run backwards: there every maximum is the highest. Where both
occur it is climbed in the logs of the masses, from several starts.
"""

from dataclasses import dataclass, replace

import numpy as np

from fleet.fits.curves.cells import Cells
from fleet.fits.curves.hazard_newton import maximise
from fleet.fits.curves.mass_newton import Shares, levels, maximise_shares
from fleet.fits.curves.open_ages import open_ends, open_shares
from fleet.fits.curves.spread_of_survival import log_survival_variance
from fleet.fits.curves.windows import Problem
from fleet.fits.rows import Floats, Mask

_MANY = 150  # cells above which the hazards are tried first, from one start
_ENOUGH = 1e-9  # excess with which that will do
_LARGEST = 3e7  # rows times cells up to which every row's cells are written out
_START = (0.0, 4.0, -4.0)  # log of the last mass over the first, in each start
_SAME = 1e-6  # two climbs that end this near to each other are one maximum


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Npmle:
    """Estimate over the cells: survival after each, expected failures, variance of log S.

    `excess`: largest violation of the optimality conditions, as a share of the lives. `open_at`:
    cells at whose end survival is not determined, several curves fitting equally well.
    `vanished`: no curve fits best; this is what ever better ones run to. `others`: lesser maxima
    were met.
    """

    survival: Floats
    failures: Floats
    hazard: Floats
    variance: Floats
    excess: float
    open_at: Mask
    vanished: bool
    others: bool


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Found:
    survival: Floats
    failures: Floats
    hazard: Floats
    excess: float
    open_at: Mask
    vanished: bool = False
    others: bool = False


def npmle(cells: Cells) -> Npmle:
    """Non-parametric maximum-likelihood estimate over the cells of one group.

    The variance of log S comes from the observed information about the hazards that are not 0;
    with exact and right-censored lives it is Greenwood's.
    """
    # counts of any size are solved as if a row were one life on average
    times = float(cells.count.mean()) if len(cells.count) else 1.0
    cells = replace(cells, count=cells.count / times)
    if not cells.truncated.any():
        found = _forwards(cells)
    elif not (cells.entered > 0).any():
        found = _backwards(cells)
    else:
        found = _both(cells) if cells.size <= _MANY else _forwards(cells)
        if found.excess > _ENOUGH and _MANY < cells.size < _LARGEST / len(cells.count):
            found = _both(cells)
    variance = log_survival_variance(cells, found.survival, found.hazard) / times
    return Npmle(
        survival=found.survival,
        failures=found.failures * times,
        hazard=found.hazard,
        variance=np.where(found.open_at, np.nan, variance),
        excess=found.excess,
        open_at=found.open_at,
        vanished=found.vanished,
        others=found.others,
    )


def _forwards(cells: Cells) -> _Found:
    problem = Problem(cells)
    a = maximise(problem)
    failures, _ = problem.expected(a)
    return _Found(
        survival=np.exp(-np.cumsum(np.where(problem.sure, np.inf, a))),
        failures=failures,
        hazard=np.where(problem.sure, 1.0, -np.expm1(-a)),
        excess=problem.excess(a, problem.slope(a)),
        open_at=open_ends(problem, a),
    )


def mirrored(cells: Cells) -> Cells:
    """The rows with time run backwards; the endless cell, if any, comes first."""
    total = cells.size + cells.endless
    known = np.where(cells.truncated, cells.known, total)
    last = np.where(cells.failed, cells.last, total)
    turned = np.arange(total, dtype=np.float64)
    return Cells(
        left=turned,
        right=turned,
        entered=total - known,
        first=total - last,
        last=total - cells.first,
        known=np.full(len(known), total),
        failed=np.ones(len(known), dtype=bool),
        truncated=np.zeros(len(known), dtype=bool),
        count=cells.count,
        endless=False,
    )


def _backwards(cells: Cells) -> _Found:
    problem = Problem(mirrored(cells))
    a = maximise(problem)
    total = np.cumsum(np.where(problem.sure, np.inf, a))
    before = np.concatenate(([0.0], total[:-1]))
    mass = (np.exp(-before) * np.where(problem.sure, 1.0, -np.expm1(-a)))[::-1]
    # what is left of time run backwards has failed by the end of a cell
    after = -np.expm1(-before[::-1])
    failures, _ = problem.expected(a)
    shown = slice(0, cells.size)
    with np.errstate(divide="ignore", invalid="ignore"):
        reached = np.concatenate(([1.0], after))[:-1]
        hazard = np.where(reached > 0.0, np.minimum(mass / reached, 1.0), 0.0)
    return _Found(
        survival=after[shown],
        failures=_seen_failures(cells, mass, failures[::-1])[shown],
        hazard=hazard[shown],
        excess=problem.excess(a, problem.slope(a)),
        open_at=open_ends(problem, a, backwards=True)[shown],
        vanished=bool(problem.sure[:-1].any()),
    )


def _seen_failures(cells: Cells, mass: Floats, ends: Floats) -> Floats:
    """Expected failures by cell: the expected ends less those of lives that were not seen to."""
    unseen = np.zeros(len(mass))
    tail = np.cumsum(mass[::-1])[::-1]
    for first in np.unique(cells.first[~cells.failed]):
        here = ~cells.failed & (cells.first == first)
        if tail[first] > 0.0:
            unseen[first:] += cells.count[here].sum() * mass[first:] / tail[first]
    return np.maximum(ends - unseen, 0.0)


def _both(cells: Cells) -> _Found:
    total = cells.size + cells.endless
    last = np.where(cells.failed, cells.last, total)
    known = np.where(cells.truncated, cells.known, total)
    place = np.arange(total)
    ends = (place >= cells.first[:, None]) & (place < last[:, None])
    window = (place >= cells.entered[:, None]) & (place < known[:, None])
    # a life that was not watched for any cell tells nothing
    telling = cells.failed | (ends != window).any(axis=1)
    shares = Shares(ends[telling], window[telling], cells.count[telling])
    log_mass, others = _climb(shares)
    mass = np.exp(log_mass)
    excess = shares.excess(mass)
    held, part, vanished = levels(shares, mass)
    shown = np.where(held, mass, 0.0)
    shown = shown / shown.sum()
    after = np.minimum(np.append(np.cumsum(shown[::-1])[::-1][1:], 0.0), 1.0)
    tail = np.cumsum(mass[::-1])[::-1]
    inside, _ = shares.sums(mass)
    failed = cells.failed[telling]
    failures = mass * ((shares.count * failed / inside) @ shares.ends)
    size = slice(0, cells.size)
    return _Found(
        survival=after[size],
        failures=failures[size],
        hazard=np.where(held | (after <= 0.0), mass / tail, 0.0)[size],
        excess=excess,
        open_at=open_shares(shares, shown, part)[size],
        vanished=vanished,
        others=others,
    )


def _climb(shares: Shares) -> tuple[Floats, bool]:
    """The highest maximum met from several starts, and whether lower ones were met."""
    if shares.size > _MANY:
        return _climb_on_support(shares), False
    tilt = np.linspace(-0.5, 0.5, shares.size)
    climbs = [maximise_shares(shares, slope * tilt) for slope in _START]
    values = np.array([shares.value(theta) for theta in climbs])
    best = int(values.argmax())
    return climbs[best], bool((values < values[best] - _SAME * shares.lives).any())


def _climb_on_support(shares: Shares) -> Floats:
    """Steps of expectation first, then only the cells that hold mass, until none is missing."""
    mass = np.full(shares.size, 1.0 / shares.size)
    for _ in range(100):
        inside, known = shares.sums(mass)
        ends = mass * ((shares.count / inside) @ shares.ends)
        mass = ends / np.maximum((shares.count / known) @ shares.window, 1e-300)
        mass = mass / mass.sum()
    kept = mass > 1e-9
    for _ in range(20):
        own = shares.among(kept)
        found = np.exp(maximise_shares(own, np.log(np.maximum(mass[kept], 1e-12))))
        mass = np.zeros(shares.size)
        mass[kept] = found / found.sum()
        missing = shares.gains(mass) > 1e-9
        if not (missing & ~kept).any():
            break
        kept = (mass > 1e-12) | missing
        mass = np.maximum(mass, 1e-6)
    return np.asarray(np.log(np.maximum(mass, 1e-250)))
