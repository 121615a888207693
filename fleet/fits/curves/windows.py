"""What the rows of one group say of its cells, as sums of hazards over runs of cells.

In the hazards ``a_j = -log(1 - chance to end in cell j, given that it is reached)`` a row adds
``-(sum of a over the cells passed) + log(1 - exp(-sum over the cells it may end in))`` and a
window known from above ``-log(1 - exp(-sum over the window))``. METHODS: turnbull.
"""

from dataclasses import dataclass, replace

import numpy as np

from fleet.fits.curves.cells import Cells
from fleet.fits.rows import Floats, Ints, Mask, group_sum

_SUM_EACH = 2_000_000  # cells in all windows up to which each window is summed by itself


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Windows:
    """Runs of cells `start` to `end - 1`, each `weight` times; `sure`: it holds a sure cell."""

    start: Ints
    end: Ints
    sure: Mask
    weight: Floats

    def sums(self, values: Floats) -> Floats:
        """Sum of `values` over each window, infinite where it holds a sure cell."""
        if int((self.end - self.start).sum()) <= _SUM_EACH:
            # differences of running sums would lose small windows beside large ones
            cuts = np.column_stack((self.start, self.end)).ravel()
            total = np.add.reduceat(np.append(values, 0.0), cuts)[::2] if len(cuts) else np.zeros(0)
            total = np.where(self.end > self.start, total, 0.0)
        else:
            run = np.concatenate(([0.0], np.cumsum(values)))
            total = np.maximum(run[self.end] - run[self.start], 0.0)
        return np.where(self.sure, np.inf, total)

    def spread(self, values: Floats, size: int) -> Floats:
        """Sum of `values` of the windows that hold each cell."""
        delta = group_sum(self.start, values, size + 1)
        delta = delta - group_sum(self.end, values, size + 1)
        return np.asarray(np.cumsum(delta)[:size])

    def within(self, kept: Ints, size: int) -> "Windows":
        """The same windows counted in the cells `kept` alone."""
        before = np.concatenate(([0], np.cumsum(np.bincount(kept, minlength=size))))
        return replace(self, start=before[self.start], end=before[self.end])

    def rows(self, which: Mask) -> "Windows":
        """Some of the windows."""
        return Windows(
            start=self.start[which],
            end=self.end[which],
            sure=self.sure[which],
            weight=self.weight[which],
        )


class Problem:
    """The log-likelihood of one group in the hazards of its cells, and its derivatives.

    `sure`: cells that end every life that reaches them. `loose`: cells whose hazard changes
    nothing, as everything that may end there may also end in a later sure cell. Both are
    `fixed`; their hazards are written 0.
    """

    def __init__(self, cells: Cells, *, sure: Mask | None = None) -> None:
        self.size = cells.size
        self.lives = float(cells.count.sum())
        # a failure that may lie in every cell of its window tells nothing of them
        empty = cells.failed & cells.truncated & (cells.first == cells.entered)
        empty &= cells.last == cells.known
        failed, cut = cells.failed & ~empty, cells.truncated & ~empty
        through = _passed(cells.entered, cells.first, cells.count, self.size)
        beyond = _passed(cells.last[cut], cells.known[cut], cells.count[cut], self.size)
        self.through = through
        # nobody was seen to pass such a cell: whoever reaches it ends there
        unpassed = (through + beyond) <= 0.0
        if bool(cut[failed].all()) and failed.any():
            # only the failures' proportions are known: all of them end by the last cell
            unpassed[-1] = True
        if sure is None:
            sure = _needed(unpassed, cells.first[failed], cells.last[failed])
            self.loose = unpassed & ~sure
        else:
            self.loose = np.zeros(self.size, dtype=bool)
        self.sure, self.fixed = sure, sure | self.loose
        stop = np.append(np.flatnonzero(self.sure), self.size)
        self.w = _windows(cells.first[failed], cells.last[failed], stop, cells.count[failed])
        self.v = _windows(cells.entered[cut], cells.known[cut], stop, cells.count[cut])

    def value(self, a: Floats) -> float:
        """Log-likelihood."""
        with np.errstate(divide="ignore", invalid="ignore"):
            inside = self.w.weight * np.log(-np.expm1(-self.w.sums(a)))
            known = self.v.weight * np.log(-np.expm1(-self.v.sums(a)))
            total = float(inside.sum() - known.sum() - a @ self.through)
        return total if np.isfinite(total) else -np.inf

    def slope(self, a: Floats) -> Floats:
        """Slope of the log-likelihood in each hazard; 0 in sure cells."""
        out = -self.through
        for sign, window in ((1.0, self.w), (-1.0, self.v)):
            with np.errstate(divide="ignore", over="ignore"):
                rate = window.weight / np.expm1(window.sums(a))
            out = out + sign * window.spread(rate, self.size)
        return np.where(self.fixed, 0.0, out)

    def expected(self, a: Floats) -> tuple[Floats, Floats]:
        """Expected failures in each cell and expected lives that reach it, given the rows."""
        total = np.concatenate(([0.0], np.cumsum(a)))
        w, y = self.w, self.w.sums(a)
        with np.errstate(divide="ignore", over="ignore"):
            lift = w.spread(w.weight * np.exp(total[w.start]) / -np.expm1(-y), self.size)
            rest = w.spread(np.where(w.sure, 0.0, w.weight / np.expm1(y)), self.size)
            unseen = self.v.weight / np.expm1(self.v.sums(a))
        reach = np.exp(-total[:-1]) * lift
        failures = reach * np.where(self.sure, 1.0, -np.expm1(-a))
        at_risk = self.through + (reach - rest) + self.v.spread(unseen, self.size)
        return np.maximum(failures, 0.0), at_risk

    def excess(self, a: Floats, slope: Floats) -> float:
        """Largest violation of the optimality conditions, as a share of the lives."""
        wrong = np.where(a > 0.0, np.abs(slope) * np.minimum(a, 1.0), np.maximum(slope, 0.0))
        return float(wrong.max(initial=0.0)) / self.lives


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Bend:
    """Minus the second derivatives of the log-likelihood in the hazards of the cells `kept`.

    `alone`: what windows of a single cell add to the diagonal. They hold the large numbers, which
    would drown the others in a running sum.
    """

    size: int
    alone: Floats
    parts: tuple[tuple[Windows, Floats], ...]

    @staticmethod
    def at(problem: Problem, a: Floats, kept: Ints) -> "Bend":
        """At the hazards `a`; windows that hold none of the cells `kept` say nothing."""
        parts, alone = [], np.zeros(len(kept))
        for sign, window in ((1.0, problem.w), (-1.0, problem.v)):
            with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
                rate = 1.0 / np.expm1(window.sums(a))
                weight = sign * window.weight * rate * (1.0 + rate)
            own = window.within(kept, problem.size)
            telling = (own.end > own.start) & ~window.sure & np.isfinite(weight)
            single = telling & (own.end == own.start + 1)
            alone += group_sum(own.start[single], weight[single], len(kept) + 1)[: len(kept)]
            several = telling & ~single
            parts.append((own.rows(several), weight[several]))
        return Bend(size=len(kept), alone=alone, parts=tuple(parts))

    def diagonal(self) -> Floats:
        """Of the matrix."""
        total = self.alone.copy()
        for window, weight in self.parts:
            total += window.spread(weight, self.size)
        return total

    def times(self, x: Floats) -> Floats:
        """The matrix times `x`, in time proportional to rows and cells."""
        run, total = np.concatenate(([0.0], np.cumsum(x))), self.alone * x
        for window, weight in self.parts:
            total += window.spread(weight * (run[window.end] - run[window.start]), self.size)
        return total

    def matrix(self) -> Floats:
        """The matrix itself."""
        wide = self.size + 1
        corner = np.zeros(wide * wide)
        for window, weight in self.parts:
            start, end = window.start, window.end
            for i, j, s in ((start, start, 1), (start, end, -1), (end, start, -1), (end, end, 1)):
                corner += s * group_sum(i * wide + j, weight, wide * wide)
        square = corner.reshape(wide, wide).cumsum(axis=0).cumsum(axis=1)[:-1, :-1]
        square[np.diag_indices(self.size)] += self.alone
        return np.asarray(square)


def _passed(start: Ints, end: Ints, weight: Floats, size: int) -> Floats:
    delta = group_sum(start, weight, size + 1) - group_sum(end, weight, size + 1)
    total = np.asarray(np.cumsum(delta)[:size])
    total[np.abs(total) < 1e-14 * weight.sum()] = 0.0  # what rounding leaves
    return total


def _needed(unpassed: Mask, first: Ints, last: Ints) -> Mask:
    """Of the cells nobody passed, those that some row needs: it may end in no later one."""
    size = len(unpassed)
    earliest = np.full(size + 1, size)
    np.minimum.at(earliest, last, first)
    sure = np.zeros(size, dtype=bool)
    following = size
    for cell in np.flatnonzero(unpassed)[::-1]:
        last_one = following == size
        if last_one or earliest[cell + 1 : following + 1].min() <= cell:
            sure[cell], following = True, cell
    return sure


def _windows(start: Ints, end: Ints, stop: Ints, weight: Floats) -> Windows:
    sure = stop[np.searchsorted(stop, start)]
    return Windows(start=start, end=np.minimum(end, sure + 1), sure=sure < end, weight=weight)
