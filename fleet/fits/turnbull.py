"""Turnbull's estimate with left, interval and right truncation. METHODS: turnbull.

In the hazards ``a_j = -log(1 - chance to fail in cell j, given that it is reached)`` a row adds
``-(sum of a over the cells passed) + log(1 - exp(-sum over the cells it may end in))`` and a
window known from above ``-log(1 - exp(-sum over the window))``. Without the latter this is
concave. Self-consistency steps, then projected Newton steps until the optimality conditions
hold: slope 0 where a_j > 0, slope <= 0 where a_j = 0.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.cells import Cells
from fleet.fits.rows import Floats, Ints, Mask, group_sum

_ENDLESS = 20.0  # cumulative hazard: fewer than three in a thousand million live on
_LARGEST_NEWTON = 1500  # cells; beyond it only self-consistency steps, and no limits


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Npmle:
    """Estimate over the cells: survival after each, expected failures, variance of log S.

    `excess`: largest violation of the optimality conditions, as a share of the lives.
    """

    survival: Floats
    failures: Floats
    hazard: Floats
    variance: Floats
    excess: float


class _Problem:
    """Sums over the rows of one group, for given cell hazards."""

    def __init__(self, cells: Cells) -> None:
        self.cells, self.size = cells, cells.size
        self.lives = float(cells.count.sum())
        # a failure that may lie in every cell of its window tells nothing of them
        empty = cells.failed & cells.truncated & (cells.first == cells.entered)
        empty &= cells.last == cells.known
        failed, cut = cells.failed & ~empty, cells.truncated & ~empty
        through = self._spread(cells.entered, cells.first, cells.count)
        beyond = self._spread(cells.last[cut], cells.known[cut], cells.count[cut])
        self.through = through
        # nobody was seen to pass such a cell: whoever reaches it ends there
        self.sure = (through + beyond) <= 0.0
        if bool(cut[failed].all()) and failed.any():
            # only the failures' proportions are known: all of them end by the last cell
            self.sure[-1] = True
        stop = np.append(np.flatnonzero(self.sure), self.size)
        self.w = self._window(cells.first[failed], cells.last[failed], stop, cells.count[failed])
        self.v = self._window(cells.entered[cut], cells.known[cut], stop, cells.count[cut])

    def _spread(self, start: Ints, end: Ints, weight: Floats) -> Floats:
        delta = group_sum(start, weight, self.size + 1)
        delta = delta - group_sum(end, weight, self.size + 1)
        total = np.asarray(np.cumsum(delta)[: self.size])
        total[np.abs(total) < 1e-9] = 0.0
        return total

    def _window(
        self, start: Ints, end: Ints, stop: Ints, weight: Floats
    ) -> tuple[Ints, Ints, Mask, Floats]:
        sure = stop[np.searchsorted(stop, start)]
        return start, np.minimum(end, sure + 1), sure < end, weight

    def sums(self, a: Floats, window: tuple[Ints, Ints, Mask, Floats]) -> Floats:
        """Sum of hazards over each window; infinite where it holds a sure cell."""
        start, end, sure, _ = window
        total = np.concatenate(([0.0], np.cumsum(np.where(self.sure, 0.0, a))))
        return np.where(sure, np.inf, np.maximum(total[end] - total[start], 0.0))

    def value(self, a: Floats) -> float:
        """Log-likelihood."""
        passed = np.where(self.sure, 0.0, a) @ self.through
        with np.errstate(divide="ignore", invalid="ignore"):
            inside = self.w[3] * np.log(-np.expm1(-self.sums(a, self.w)))
            known = self.v[3] * np.log(-np.expm1(-self.sums(a, self.v)))
            total = float(inside.sum() - known.sum() - passed)
        return total if np.isfinite(total) else -np.inf

    def slope(self, a: Floats) -> Floats:
        """Slope of the log-likelihood in each hazard; 0 in sure cells."""
        out = -self.through
        for sign, window in ((1.0, self.w), (-1.0, self.v)):
            with np.errstate(divide="ignore", over="ignore"):
                rate = window[3] / np.expm1(self.sums(a, window))
            out = out + sign * self._add(window, rate)
        return np.where(self.sure, 0.0, out)

    def _add(self, window: tuple[Ints, Ints, Mask, Floats], values: Floats) -> Floats:
        delta = group_sum(window[0], values, self.size + 1)
        delta = delta - group_sum(window[1], values, self.size + 1)
        return np.asarray(np.cumsum(delta)[: self.size])

    def information(self, a: Floats) -> Floats:
        """Minus the second derivatives, all cells by all cells."""
        corner = np.zeros((self.size + 1, self.size + 1))
        for sign, window in ((1.0, self.w), (-1.0, self.v)):
            with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
                rate = 1.0 / np.expm1(self.sums(a, window))
            weight = sign * window[3] * rate * (1.0 + rate)
            start, end = window[0], window[1]
            for i, j, s in ((start, start, 1), (start, end, -1), (end, start, -1), (end, end, 1)):
                np.add.at(corner, (i, j), s * weight)
        return corner.cumsum(axis=0).cumsum(axis=1)[: self.size, : self.size]

    def expected(self, a: Floats) -> tuple[Floats, Floats]:
        """Expected failures in each cell and expected lives that reach it, given the rows."""
        total = np.concatenate(([0.0], np.cumsum(np.where(self.sure, 0.0, a))))
        start, _, sure, weight = self.w
        y = self.sums(a, self.w)
        with np.errstate(divide="ignore", over="ignore"):
            lift = self._add(self.w, weight * np.exp(total[start]) / -np.expm1(-y))
            rest = self._add(self.w, np.where(sure, 0.0, weight / np.expm1(y)))
            unseen = self.v[3] / np.expm1(self.sums(a, self.v))
        reach = np.exp(-total[:-1]) * lift
        failures = reach * np.where(self.sure, 1.0, -np.expm1(-a))
        at_risk = self.through + (reach - rest) + self._add(self.v, unseen)
        return failures, at_risk

    def excess(self, a: Floats, slope: Floats) -> float:
        """Largest violation of the optimality conditions, as a share of the lives."""
        wrong = np.where(a > 0.0, np.abs(slope) * np.minimum(a, 1.0), np.maximum(slope, 0.0))
        return float(wrong.max(initial=0.0)) / self.lives


def npmle(cells: Cells) -> Npmle:
    """Non-parametric maximum-likelihood estimate over the cells of one group.

    The variance of log S comes from the observed information about the hazards that are not 0;
    with exact and right-censored lives it is Greenwood's.
    """
    problem = _Problem(cells)
    a = _self_consistent(problem, np.full(cells.size, 0.05), steps=30)
    small = cells.size <= _LARGEST_NEWTON
    a = _newton(problem, a) if small else _self_consistent(problem, a, steps=3000)
    total = np.cumsum(np.where(problem.sure, np.inf, a))
    # a hazard still rising this high has its maximum at infinity: nothing lives through the cell
    over = total > _ENDLESS
    total[over] = np.inf
    failures, _ = problem.expected(a)
    variance = _variance(problem, a) if small else np.full(cells.size, np.nan)
    return Npmle(
        survival=np.exp(-total),
        failures=failures,
        hazard=np.where(problem.sure, 1.0, -np.expm1(-a)),
        variance=np.where(over, np.nan, variance),
        excess=problem.excess(a, problem.slope(a)),
    )


def _self_consistent(problem: _Problem, a: Floats, *, steps: int) -> Floats:
    """Hazards from expected failures and expected lives at risk, over and over."""
    for step in range(steps):
        failures, at_risk = problem.expected(a)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(at_risk > 0.0, failures / at_risk, 0.0)
        a = np.where(problem.sure, 0.0, -np.log1p(-np.clip(share, 0.0, 1.0 - 1e-12)))
        if step % 100 == 99 and problem.excess(a, problem.slope(a)) < 1e-7:
            break
    return a


def _newton(problem: _Problem, a: Floats) -> Floats:
    value = problem.value(a)
    for _ in range(200):
        slope = problem.slope(a)
        free = ~problem.sure & ((a > 0.0) | (slope > 0.0))
        # a cell whose mass is all but gone and still falling is given up
        free &= ~((a < 1e-9) & (slope < 0.0))
        if problem.excess(a, slope) < 1e-11 or not free.any():
            break
        move = np.zeros(problem.size)
        move[free] = _solve(problem.information(a)[np.ix_(free, free)], slope[free])
        start = np.where(free | problem.sure, a, 0.0)
        if np.isneginf(problem.value(start)):
            start = a  # some window holds only such cells: their proportions still count
        new, found = _line_search(problem, a, start, move, slope, value)
        if found <= value and np.array_equal(new, a):
            break
        gained, a, value = found - value, new, found
        if gained < 1e-15 * problem.lives and problem.excess(a, problem.slope(a)) < 1e-9:
            break
    return a


def _solve(information: Floats, slope: Floats) -> Floats:
    """Newton step; the information, scaled, is lifted until it is positive definite."""
    # where the likelihood is flat or bent upwards, its slope sets how far a step may go
    size = 1.0 / np.sqrt(np.maximum(np.abs(np.diag(information)), 1e-3 * np.abs(slope) + 1e-300))
    scaled, lift = information * size * size[:, None], 1e-10
    np.fill_diagonal(scaled, np.maximum(np.diag(scaled), 1e-3))
    for _ in range(40):
        lifted = scaled + lift * np.eye(len(slope))
        try:
            np.linalg.cholesky(lifted)
        except np.linalg.LinAlgError:
            lift *= 10.0
            continue
        return np.asarray(size * np.linalg.solve(lifted, size * slope))
    return slope * size * size


def _line_search(
    problem: _Problem, a: Floats, start: Floats, move: Floats, slope: Floats, value: float
) -> tuple[Floats, float]:
    """The longest halved step, kept at or above 0, that raises the likelihood."""
    size = 1.0
    for _ in range(90):
        new = np.maximum(start + size * move, 0.0)
        found = problem.value(new)
        gain = float(slope @ (new - a))
        # where the gain drowns in rounding, the slopes are better guides than the value
        lost = 1e-14 * (1.0 + abs(value)) if abs(gain) < 1e-10 else 0.0
        if found >= value + 1e-6 * gain - lost and found > -np.inf:
            return new, found
        size *= 0.5
    return a, value


def _variance(problem: _Problem, a: Floats) -> Floats:
    """Variance of log S after each cell; cells without mass are taken as known to be empty."""
    held = ~problem.sure & (a > 0.0)
    out = np.zeros((problem.size, problem.size))
    if held.any():
        information = problem.information(a)[np.ix_(held, held)]
        out[np.ix_(held, held)] = np.linalg.pinv(information, rcond=1e-12, hermitian=True)
    variance = out.cumsum(axis=0).cumsum(axis=1).diagonal().copy()
    variance[np.cumsum(problem.sure) > 0] = np.nan
    return np.where(variance >= 0.0, variance, np.nan)
