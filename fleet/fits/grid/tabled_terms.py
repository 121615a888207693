"""Rows with blanks, many at a time: their log-likelihood read off tables by age over scale.

Of sets with the same blanks, the log chance of living through an age, or of failing at it, averaged
over what may be blank, depends on the age over factor and scale alone: at one shape it is a curve
of one number. It is tabled at even steps so short that the polynomial through six neighbouring
entries is the curve but for rounding. Every row and scale gives its weights to six entries, and the
rows of a cell come down to one sum over the table; windows and intervals read two places off it.
METHODS: posterior
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.grid.stress import NODE_WEIGHTS

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_MANY = 60  # rows from which on a table is worth its making
_STEP = 0.06  # of the steepest curve's own scale, 1 / shape: logs are off by less than 1e-6 a life
_WIDE = 15.0  # logs of ages over which a table would be too long
_AT_ONCE = 40_000  # rows times scales, and
_CELLS = 40  # cells worked on together
_POINTS = range(-2, 4)
_SMALL = 0.1  # mean hazard up to which its survival is reckoned from what is lacking of 1


def can_be_tabled(rows: Evidence) -> bool:
    """Whether there are enough rows, of ages not too far apart."""
    ages = np.concatenate([x[x > 0.0] for x in (rows.entry, rows.low, rows.high, rows.known_by)])
    if rows.cell.size < _MANY or not ages.size:
        return False
    return bool(np.log(ages.max() / ages.min()) < _WIDE)


def tabled_terms(rows: Evidence, log_factors: Floats, shape: Floats, log_scale: Floats) -> Floats:
    """(cells, shapes, scales) of rows with the same blanks and of known cause.

    `log_factors` is (rows, nodes): what is known of each row moves all its nodes alike.
    """
    middle = log_factors.shape[1] // 2
    told = log_factors[:, middle]
    nodes = log_factors[0] - log_factors[0, middle]
    with np.errstate(divide="ignore"):
        entry, low, high, known_by = (
            np.log(age) - told for age in (rows.entry, rows.low, rows.high, rows.known_by)
        )
    exact = rows.low == rows.high
    between = ~exact & ~np.isnan(high)
    above = ~np.isnan(known_by) & ~rows.forgetful
    met = np.isnan(known_by)
    grid = _Grid.of(np.concatenate([entry, low, high, known_by]), shape, log_scale)
    hazards = grid.hazards(nodes)
    lived = _lived(hazards)
    cell, count = rows.cell, rows.count
    out = _of_failures(cell[exact], count[exact], low[exact], told[exact], shape, log_scale)
    if exact.any():
        failed = _log_mean(-hazards - shape[:, None, None] * nodes)
        out += grid.summed(cell[exact], low[exact], count[exact], failed)
    still = ~exact & ~between & (rows.low > 0.0)
    out += grid.summed(cell[still], low[still], count[still], lived)
    late = met & (rows.entry > 0.0)
    out -= grid.summed(cell[late], entry[late], count[late], lived)
    for which, start, end, sign in ((between, low, high, 1.0), (above, entry, known_by, -1.0)):
        weight = sign * count[which]
        out += grid.within(cell[which], start[which], end[which], weight, lived)
    return out


def _of_failures(
    cell: Ints, count: Floats, at: Floats, told: Floats, shape: Floats, log_scale: Floats
) -> Floats:
    """What densities have beside the curve: logs of shape, age and scale."""
    cells = len(log_scale)
    failures, ages, logs = (
        np.bincount(cell, count * x, cells) for x in (np.ones_like(at), at, at + told)
    )
    out = (failures[:, None] * np.log(shape) + shape * ages[:, None] - logs[:, None])[:, :, None]
    return np.asarray(out - (failures[:, None] * shape)[:, :, None] * log_scale[:, None, :])


def _log_mean(logs: Floats) -> Floats:
    top = logs.max(axis=2)
    return np.asarray(np.log(np.exp(logs - top[:, :, None]) @ NODE_WEIGHTS) + top)


def _lived(hazards: Floats) -> Floats:
    """Log of the mean survival, right for small hazards too."""
    small = hazards @ NODE_WEIGHTS < _SMALL
    out = _log_mean(-hazards)
    out[small] = np.log1p(np.expm1(-hazards[small]) @ NODE_WEIGHTS)
    return out


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Grid:
    """Even steps of the log of age over scale; a table over them is (shapes, length)."""

    shape: Floats
    log_scale: Floats
    first: float
    step: float
    length: int

    @classmethod
    def of(cls, ages: Floats, shape: Floats, log_scale: Floats) -> "_Grid":
        """All that these logs of ages reach."""
        ages = ages[np.isfinite(ages)]
        step = _STEP / float(shape.max())
        first = float(ages.min() - log_scale.max()) - 3.0 * step
        length = int(np.ceil((ages.max() - log_scale.min() - first) / step)) + 5
        return cls(shape=shape, log_scale=log_scale, first=first, step=step, length=length)

    def hazards(self, nodes: Floats) -> Floats:
        """(shapes, length, nodes): cumulative hazards, nodes being logs of factors."""
        age = self.first + self.step * np.arange(self.length)
        return np.asarray(np.exp(self.shape[:, None, None] * (age[:, None] - nodes)))

    def summed(self, cell: Ints, age: Floats, weight: Floats, table: Floats) -> Floats:
        """(cells, shapes, scales): weighted sums of the table over the rows of each cell."""
        cells, scales = self.log_scale.shape
        out = np.zeros((cells, self.shape.size, scales))
        for part, here in _blocks(cell, scales):
            entry, shares = self._places(cell[part], age[part])
            shares = [share * weight[part, None] for share in shares]
            own = cell[part] - here.start
            entry += (own[:, None] * scales + np.arange(scales)) * self.length
            size = (here.stop - here.start) * scales * self.length
            held = np.zeros(size)
            for point, share in zip(_POINTS, shares, strict=True):
                held += np.bincount((entry + point).ravel(), share.ravel(), size)
            sums = held.reshape(-1, self.length) @ table.T
            out[here] += sums.reshape(-1, scales, self.shape.size).transpose(0, 2, 1)
        return out

    def within(
        self, cell: Ints, start: Floats, end: Floats, weight: Floats, lived: Floats
    ) -> Floats:
        """The same of the log chances to fail between two ages."""
        cells, scales = self.log_scale.shape
        out = np.zeros((cells, self.shape.size, scales))
        table = np.ascontiguousarray(lived.T)
        for part, _ in _blocks(cell, scales):
            before = self._read(cell[part], start[part], table)
            gap = before - self._read(cell[part], end[part], table)
            with np.errstate(divide="ignore"):
                # a log near 0 is as good as 0: all that is done with it is to add it up
                logs = before + np.log(-np.expm1(-np.maximum(gap, 1e-300)))
            logs *= weight[part, None, None]
            starts = np.flatnonzero(np.diff(cell[part], prepend=-1))
            sums = np.add.reduceat(logs, starts, axis=0)
            out[cell[part][starts]] += sums.transpose(0, 2, 1)
        return out

    def _read(self, cell: Ints, age: Floats, table: Floats) -> Floats:
        """(rows, scales, shapes): the table at ages; 0 at age 0."""
        new = np.isneginf(age)
        entry, shares = self._places(cell, np.where(new, self.log_scale[cell, -1], age))
        out = np.zeros((*entry.shape, self.shape.size))
        np.clip(entry, 2, self.length - 4, out=entry)
        for point, share in zip(_POINTS, shares, strict=True):
            out += share[..., None] * table[entry + point]
        out[new] = 0.0
        return out

    def _places(self, cell: Ints, age: Floats) -> tuple[Ints, list[Floats]]:
        """(rows, scales): the entry below each age over scale, and shares of the six about it."""
        place = (age[:, None] - self.log_scale[cell] - self.first) / self.step
        entry = np.floor(place)
        return entry.astype(np.int64), _shares(place - entry)


def _shares(part: Floats) -> list[Floats]:
    """Weights of the entries at -2 ... 3 in the polynomial through them (Lagrange)."""
    a, b, d, e, f = part + 2.0, part + 1.0, part - 1.0, part - 2.0, part - 3.0
    below, middle, above = a * b, part * d, e * f
    return [
        b * middle * above / -120.0,
        a * middle * above / 24.0,
        below * d * above / -12.0,
        below * part * above / 12.0,
        below * middle * f / -24.0,
        below * middle * e / 120.0,
    ]


def _blocks(cell: Ints, scales: int) -> Iterator[tuple[slice, slice]]:
    """Runs of rows, neither too many nor of too many cells, and their cells; rows are sorted."""
    rows, start = max(1, _AT_ONCE // scales), 0
    while start < len(cell):
        stop = min(start + rows, int(np.searchsorted(cell, cell[start] + _CELLS)))
        yield slice(start, stop), slice(int(cell[start]), int(cell[stop - 1]) + 1)
        start = stop
