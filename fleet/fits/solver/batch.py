"""Every group of a life table solved: blocks of like groups at once, the odd ones one by one."""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import numpy as np

from fleet.fits.roots import normal_quantile
from fleet.fits.rows import Floats, Grouped, Ints, Rows
from fleet.fits.solver.careful import solve_carefully
from fleet.fits.solver.existence import find_edges
from fleet.fits.solver.fitted import Fits
from fleet.fits.solver.no_failure import lower_ages
from fleet.fits.solver.packed import pack
from fleet.fits.solver.paths import LogAge
from fleet.fits.solver.profile_bounds import want
from fleet.fits.solver.quick import Solved, solve_quickly
from fleet.fits.solver.quick_edges import Edges, look_at_edges
from fleet.fits.solver.reasons import NO_FAILURE, NO_LIVES, ONE_AGE
from fleet.fits.solver.terms import Terms

_BLOCK = 60_000  # rows worked on at once
_CAREFUL_BLOCK = 8_000
_PATIENCE = (0.0, 0.9, 1.0)  # see quick.solve_quickly: few groups need much
_CLEARLY = 1e-6  # in log-likelihood
_ALIKE = np.log(1.12)  # groups whose sizes differ by less than this share a block

_T = TypeVar("_T")


def maxima(cut: Grouped) -> Fits:
    """The maximum of every group, and why where there is none; no ages, no limits."""
    return solve_all(cut, None, np.zeros(0))


def solve_all(cut: Grouped, level: float | None, hazards: Floats) -> Fits:
    """Maximum and limits of every group, and why where there is none; no level: no limits.

    Blocks are solved on as many threads as there are processors; the numbers of a group do not
    depend on the others.
    """
    fits = Fits.empty(len(cut.starts) - 1, len(hazards))
    sizes = np.diff(cut.starts)
    fits.reason[sizes == 0] = NO_LIVES

    def solve(groups: Ints | None, patience: float) -> tuple[Ints, Ints]:
        def one(block: Ints) -> tuple[Ints, Ints]:
            return _solve_block(cut, block, level, hazards, fits, patience)

        return _together(on_all_processors(one, blocks_of(cut, groups)))

    def search(groups: Ints) -> None:
        def one(block: Ints) -> None:
            solve_carefully(cut.rows(block), block, level, hazards, fits)

        on_all_processors(one, list(_by_rows(np.sort(groups), sizes, _CAREFUL_BLOCK)))

    slow, odd = solve(None, _PATIENCE[0])
    if not len(slow):
        search(odd)
        return fits
    # the search for the odd groups goes on beside the further passes
    with ThreadPoolExecutor(1) as aside:
        searched = aside.submit(search, odd)
        for patience in _PATIENCE[1:]:
            slow, more = solve(slow, patience)
            search(more)
            if not len(slow):
                break
        search(slow)
        searched.result()
    return fits


def _above_edge(rows: Rows, edges: Edges, solved: Solved, z: float | None) -> Ints:
    """Which of `solved` stand above the likelihood at shape 0, limits and all."""
    keep = np.ones(len(solved.groups), dtype=bool)
    shallow = np.flatnonzero(edges.shallow[solved.groups])
    if len(shallow):
        some = rows.rows(solved.groups[shallow])
        at_zero = find_edges(some, Terms(some)).at_zero
        keep[shallow] = at_zero < solved.value[shallow] - 0.5 * (z or 0.0) ** 2 - _CLEARLY
    return np.flatnonzero(keep)


def _together(parts: Sequence[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    none = np.zeros(0, dtype=np.int64)
    first, second = zip(*parts, strict=True) if parts else ((), ())
    return np.concatenate([none, *first]), np.concatenate([none, *second])


def on_all_processors(work: Callable[[Ints], _T], blocks: Sequence[Ints]) -> list[_T]:
    """What `work` makes of each block, on as many threads as there are processors."""
    if len(blocks) < 2:
        return [work(b) for b in blocks]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(work, blocks))


def blocks_of(cut: Grouped, groups: Ints | None = None) -> list[Ints]:
    """Groups with rows, those of like size and like number of windows together."""
    sizes = np.diff(cut.starts)
    own = np.arange(len(sizes)) if groups is None else groups
    own = own[sizes[own] > 0]
    size_class = np.round(np.log(sizes[own] + 10.0) / _ALIKE)
    return list(_by_rows(own[np.lexsort((cut.windows[own], size_class))], sizes, _BLOCK))


def _by_rows(groups: Ints, sizes: Ints, most: int) -> Iterator[Ints]:
    total = np.cumsum(sizes[groups])
    first = 0
    while first < len(groups):
        before = total[first - 1] if first else 0
        last = max(first + 1, int(np.searchsorted(total, before + most, "right")))
        yield groups[first:last]
        first = last


def _solve_block(
    cut: Grouped,
    groups: Ints,
    level: float | None,
    hazards: Floats,
    fits: Fits,
    patience: float,
) -> tuple[Ints, Ints]:
    """Solve what is well behaved; returns the groups that need patience, and the odd ones."""
    rows = cut.rows(groups)
    first = rows.starts[:-1]
    fits.lives[groups] = np.add.reduceat(rows.count, first)
    fits.failures[groups] = np.add.reduceat(np.where(np.isnan(rows.high), 0.0, rows.count), first)
    edges, packed = look_at_edges(rows), pack(rows)
    z = None if level is None else normal_quantile(0.5 + level / 2.0)
    fits.reason[groups[edges.one_age]] = ONE_AGE
    fits.supremum[groups[edges.one_age]] = np.inf
    none = np.flatnonzero(edges.no_failure & ~packed.short_watch)
    fits.reason[groups[none]] = NO_FAILURE
    if len(none) and z is not None:
        with np.errstate(all="ignore"):
            low = np.exp(lower_ages(packed.take(none), 0.5 * z * z, hazards))
        fits.limits[2::2, groups[none]] = low
    quick = np.flatnonzero((edges.ordinary | edges.shallow) & ~packed.narrow)
    done = np.zeros(0, dtype=np.int64)
    if len(quick):
        some = packed if len(quick) == len(groups) else packed.take(quick)
        log_h = np.log(hazards)[:, None]
        path = LogAge(log_h=np.concatenate([np.zeros((2, 1)), np.repeat(log_h, 2, axis=0)]))
        solved = solve_quickly(some, quick, want(path, len(hazards)), z, patience=patience)
        solved = solved.take(_above_edge(rows, edges, solved, z))
        done = solved.groups
        own, log_top = groups[done], packed.log_top[done]
        b = np.exp(solved.u)
        fits.exists[own] = True
        fits.shape[own], fits.scale[own] = b, np.exp(solved.a + log_top)
        fits.ages[:, own] = np.exp(solved.a + log_h / b + log_top)
        fits.value[own] = fits.supremum[own] = solved.value
        if z is not None:
            fits.limits[:2, own] = np.exp(solved.limits[:2])
            fits.limits[2:, own] = np.exp(solved.limits[2:] + log_top)
    settled = edges.one_age.copy()
    settled[none] = True
    settled[quick] = True
    return groups[np.setdiff1d(quick, done)], groups[~settled]
