"""A life distribution as its cumulative hazard, and the one likelihood for any of them.

METHODS: other-distributions. Ages enter as ``x = log(age / t0)``, t0 the group's largest age, so
that hours, days and years agree.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.fits.likelihood import log_difference
from fleet.fits.rows import Floats, Ints, Rows

Law = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class HazardModel:
    """What a distribution must give: both functions take x and theta (parameters first).

    `cumulative`: the cumulative hazard at x. `log_slope`: log of its slope in x, which is the
    log of hazard times age. `low`, `high`: the box in which parameters are sought.
    """

    name: str
    parameters: int
    cumulative: Law
    log_slope: Law
    low: tuple[float, ...]
    high: tuple[float, ...]


class LifeSums:
    """The log-likelihood of each group of `rows` under any HazardModel.

    ``count * (log f(low) or log P(low < T <= high), less log P(entry < T <= known_by))``, every
    probability through differences of cumulative hazards, so that both tails keep their digits.
    """

    def __init__(self, rows: Rows, *, typical: Floats | None = None) -> None:
        self.rows, self.groups = rows, rows.groups
        self.sizes = np.diff(rows.starts)
        self.group: Ints = np.repeat(np.arange(rows.groups), self.sizes)
        ages = np.fmax(np.fmax(rows.low, rows.high), np.fmax(rows.entry, rows.known_by))
        top = np.zeros(rows.groups)
        np.maximum.at(top, self.group, ages)
        self.typical = np.where(top > 0.0, top, 1.0) if typical is None else typical
        exact, closed = rows.high == rows.low, rows.high > rows.low
        known = ~np.isnan(rows.known_by)
        # an interval that fills its whole window says nothing
        vacuous = closed & known & (rows.low == rows.entry) & (rows.high == rows.known_by)
        self.exact = np.flatnonzero(exact)
        self.closed = np.flatnonzero(closed & ~vacuous)
        self.known = np.flatnonzero(known & ~vacuous)
        self.late = np.flatnonzero((rows.entry > 0.0) & ~vacuous)
        self.moved = np.flatnonzero((rows.low > 0.0) & ~vacuous)
        self.failures = self.total(rows.count * (exact | closed))
        with np.errstate(divide="ignore"):
            logs = [
                np.log(ages[which] / self.typical[self.group[which]])
                for ages, which in (
                    (rows.entry, self.late),
                    (rows.low, self.moved),
                    (rows.high, self.closed),
                    (rows.known_by, self.known),
                )
            ]
        self.x_exact = np.log(rows.low[self.exact] / self.typical[self.group[self.exact]])
        self.log_age = np.log(rows.low[self.exact])
        self.x = np.concatenate(logs)
        self.of = self.group[np.concatenate([self.late, self.moved, self.closed, self.known])]
        self.cuts = np.cumsum([len(self.late), len(self.moved), len(self.closed)])

    def some(self, which: Ints) -> "LifeSums":
        """The same for some of the groups, by their numbers in rising order."""
        rows = self.rows
        keys = rows.keys[which] if rows.keys.width else rows.keys
        chosen = np.flatnonzero(np.isin(self.group, which))
        return self._cut(keys, chosen, self.sizes[which], 1.0, self.typical[which])

    def thinned(self, step: int) -> "LifeSums":
        """About one row in `step` of each group, even over the ages, for a first search."""
        rows = self.rows
        place = np.lexsort((rows.low, rows.entry, np.isnan(rows.high), self.group))
        chosen = place[step // 2 :: step]
        sizes = np.bincount(self.group[chosen], minlength=self.groups)
        return self._cut(rows.keys, chosen, sizes, float(step), self.typical)

    def _cut(
        self, keys: pl.DataFrame, chosen: Ints, sizes: Ints, weight: float, typical: Floats
    ) -> "LifeSums":
        rows, starts = self.rows, np.concatenate(([0], np.cumsum(sizes)))
        columns = ("entry", "low", "high", "known_by")
        parts = {name: getattr(rows, name)[chosen] for name in columns}
        count = rows.count[chosen] * weight
        return LifeSums(Rows(keys=keys, starts=starts, count=count, **parts), typical=typical)

    def total(self, values: Floats) -> Floats:
        """Sums over the rows of each group along the last axis."""
        out = np.zeros((*values.shape[:-1], self.groups))
        some = self.sizes > 0
        if some.any():
            out[..., some] = np.add.reduceat(values, self.rows.starts[:-1][some], axis=-1)
        return out

    def hazards(self, model: HazardModel, theta: Floats) -> tuple[Floats, ...]:
        """Cumulative hazard at entry, low, high and known_by of each row; 0 where there is none."""
        values = model.cumulative(self.x, theta[..., self.of])
        parts = np.split(values, self.cuts, axis=-1)
        shape = (*values.shape[:-1], len(self.rows.count))
        out = []
        for part, which in zip(
            parts, (self.late, self.moved, self.closed, self.known), strict=True
        ):
            full = np.zeros(shape)
            full[..., which] = part
            out.append(full)
        return tuple(out)

    def log_likelihood(self, model: HazardModel, theta: Floats) -> Floats:
        """Log-likelihood of each group; theta is (parameters, ..., groups). Per unit of age."""
        with np.errstate(all="ignore"):
            entry, low, high, known = self.hazards(model, theta)
            value = entry - low
            which, density = self.exact, theta[..., self.group[self.exact]]
            value[..., which] += model.log_slope(self.x_exact, density) - self.log_age
            which = self.closed
            value[..., which] += log_difference(high[..., which] - low[..., which])
            which = self.known
            value[..., which] -= log_difference(known[..., which] - entry[..., which])
            total = self.total(self.rows.count * value)
        return np.where(np.isfinite(total), total, -np.inf)
