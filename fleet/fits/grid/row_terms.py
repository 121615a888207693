"""Log-likelihood of lives on a grid of shapes and scales, added up cell by cell.

With H(t) = (t / factor)^shape exp(-shape s), s the log scale, a row counts
log h(t) - H(t) + H(entry) for an exact age, the same by differences for intervals, less the log of
P(entry < T <= known_by). Rows of one factor need two sums a cell; rows whose window is closed on
both sides, and rows that are an average over several factors or causes, are worked out one by one,
or read off a table (tabled_terms) where many have the same blanks. METHODS: posterior
"""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.grid.stress import NODE_WEIGHTS
from fleet.fits.grid.tabled_terms import can_be_tabled, tabled_terms

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_AT_ONCE = 200_000  # numbers worked on together: fits the cache


def log_failed(hazard: Floats) -> Floats:
    """log(1 - exp(-hazard)), right for small and large hazards."""
    with np.errstate(divide="ignore"):
        return np.asarray(
            np.where(hazard > 0.7, np.log1p(-np.exp(-hazard)), np.log(-np.expm1(-hazard)))
        )


def add_by_cell(cell: Ints, values: Floats, cells: int) -> Floats:
    """Sums over the rows of each cell, (cells, ...); rows are sorted by cell."""
    out = np.zeros((cells, *values.shape[1:]))
    if cell.size:
        starts = np.flatnonzero(np.concatenate(([True], cell[1:] != cell[:-1])))
        out[cell[starts]] = np.add.reduceat(values, starts, axis=0)
    return out


def powers(age: Floats, log_factor: Floats, shape: Floats) -> Floats:
    """(age / factor)^shape with shapes along a new last axis; 0 for age 0, NaN for NaN."""
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(np.exp((np.log(age) - log_factor)[..., None] * shape))


def plain_terms(rows: Evidence, log_factor: Floats, shape: Floats, log_scale: Floats) -> Floats:
    """(cells, shapes, scales) of rows with one factor each; `log_scale` is (cells, scales).

    Windows of forgetful rows are left to `forgetting`.
    """
    watched = powers(rows.low, log_factor, shape)
    entered = np.zeros_like(watched)
    late = (rows.entry > 0.0) & ~rows.forgetful
    entered[late] = powers(rows.entry[late], log_factor[late], shape)
    exact = rows.low == rows.high
    cell, count = rows.cell, rows.count
    hazard = add_by_cell(cell, count[:, None] * (watched - entered), rows.cells)
    failures = np.bincount(cell[exact], count[exact], rows.cells)
    with np.errstate(divide="ignore"):
        logs = count * np.where(exact, np.log(rows.low) - log_factor, 0.0)
    log_ages = np.bincount(cell[exact], logs[exact], rows.cells)
    shrink = np.exp(-shape[None, :, None] * log_scale[:, None, :])
    out = -hazard[:, :, None] * shrink
    out += (failures[:, None] * np.log(shape) + shape * log_ages[:, None])[:, :, None]
    out -= (failures[:, None] * shape)[:, :, None] * log_scale[:, None, :]
    between = ~exact & ~np.isnan(rows.high)
    above = ~np.isnan(rows.known_by) & ~rows.forgetful
    for mine, end, start, sign in (
        (between, rows.high, watched, 1.0),
        (above, rows.known_by, entered, -1.0),
    ):
        for part in _parts(np.flatnonzero(mine), shape.size * log_scale.shape[1]):
            gap = powers(end[part], log_factor[part], shape) - start[part]
            # near 0 logs are as good as 0: nothing is added up but logs
            logs = np.log(-np.expm1(-gap[:, :, None] * shrink[cell[part]]))
            out += add_by_cell(cell[part], sign * count[part, None, None] * logs, rows.cells)
    return out


def mixed_terms(rows: Evidence, log_factors: Floats, shape: Floats, log_scale: Floats) -> Floats:
    """The same for rows that are an average over factors, (rows, nodes), or over causes.

    A set with blanks counts its chance from new, averaged over what may be blank, over the chance
    from new of coming to be known, averaged likewise: an old set that works is likely a cool one.
    """
    out = np.zeros((rows.cells, shape.size, log_scale.shape[1]))
    size = shape.size * log_scale.shape[1] * log_factors.shape[1]
    single = rows.unsure
    blanks = rows.site.which_blank
    for kind in np.unique(blanks[~single]):
        alike = ~single & (blanks == kind)
        such = rows.take(alike)
        if can_be_tabled(such):
            out += tabled_terms(such, log_factors[alike], shape, log_scale)
        else:
            single |= alike
    for part in _parts(np.flatnonzero(single), size):
        some = np.zeros(rows.cell.size, bool)
        some[part] = True
        mine = rows.take(some)
        ends, known = _mixed(mine, log_factors[part], shape, log_scale[mine.cell])
        logs = _log_mean(ends) - _log_mean(known)
        out += add_by_cell(mine.cell, mine.count[:, None, None] * logs, rows.cells)
    return out


def _log_mean(logs: Floats) -> Floats:
    """Log of the mean over the nodes (axis 1)."""
    top = logs.max(axis=1, keepdims=True)
    weighted = np.exp(logs - top) * NODE_WEIGHTS[:, None, None]
    return np.asarray(np.log(weighted.sum(axis=1)) + top[:, 0])


def _mixed(
    rows: Evidence, log_factors: Floats, shape: Floats, log_scale: Floats
) -> tuple[Floats, Floats]:
    """Log chance from new of what became of each row, and of its coming to be known, at each
    node: (rows, nodes, shapes, scales) both. Windows of forgetful rows are left away.
    """
    shrink = np.exp(-shape[None, :, None] * log_scale[:, None, :])[:, None]
    watched, entered = (powers(age[:, None], log_factors, shape) for age in (rows.low, rows.entry))
    out = -watched[..., None] * shrink
    known = -entered[..., None] * shrink
    exact = rows.low == rows.high
    if exact.any():
        with np.errstate(divide="ignore"):
            log_age = (np.log(rows.low[exact])[:, None] - log_factors[exact])[..., None, None]
        steps = shape[:, None] * (log_age - log_scale[exact][:, None, None, :])
        out[exact] += np.log(shape)[:, None] + steps
        # a density of the age itself, not of the age in units of the factor: rates add up
        out[exact] -= np.log(rows.low[exact])[:, None, None, None]
    between = ~exact & ~np.isnan(rows.high)
    if between.any():
        gap = powers(rows.high[between, None], log_factors[between], shape) - watched[between]
        out[between] += log_failed(gap[..., None] * shrink[between])
    above = ~np.isnan(rows.known_by)
    if above.any():
        gap = powers(rows.known_by[above, None], log_factors[above], shape) - entered[above]
        known[above] += log_failed(gap[..., None] * shrink[above])
        known[rows.forgetful] = 0.0
    unsure = rows.unsure
    if unsure.any():
        until = powers(rows.other_low[unsure, None], log_factors[unsure], shape)
        chance = np.log(rows.other_chance[unsure])[:, None, None, None]
        out[unsure] = np.logaddexp(out[unsure], chance - until[..., None] * shrink[unsure])
    return out, known


def _parts(places: Ints, size: int) -> Iterator[Ints]:
    """Places a block at a time, each block of about _AT_ONCE numbers."""
    step = max(1, _AT_ONCE // max(1, size))
    for first in range(0, len(places), step):
        yield places[first : first + step]
