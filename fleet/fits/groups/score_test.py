"""A log-rank test for lives whose failures are only known to lie in an interval, or whose
windows are closed from above. METHODS: interval-log-rank.

Groups share the hazards of Turnbull's estimate of all lives but for a factor on the odds of
failing in each cell; the score for that factor at 1 is the log-rank's failures less expected
ones (Sun 1996, Statistics in Medicine 15:1387-1395), its variance comes from the observed
information, the hazards being fitted too (as Finkelstein 1986, Biometrics 42:845-854).
"""

import numpy as np

from fleet.fits.curves.cells import Cells, find_cells
from fleet.fits.curves.turnbull import npmle
from fleet.fits.groups.log_rank import MOST_GROUPS, RankTest, judge
from fleet.fits.rows import Floats, Ints, Mask, Rows, group_sum

LARGEST = 1000  # cells; beyond it the estimate and its information take too long
_NO_MASS = 1e-9  # hazards below this are taken as 0 and held there


def score_test(rows: Rows, group: Ints, groups: int) -> RankTest | None:
    """Score test of equal hazards over `groups`; None where there are too many cells
    or groups.

    `rows` is one group of lives of any kind, `group` the number of each life's own. On exact and
    right-censored lives the score is the log-rank's, and so is the variance but for the factor
    (at risk - 1) / at risk at each age.
    """
    exact = np.unique(rows.low[rows.high == rows.low])  # each is a cell of its own
    if len(exact) > LARGEST or groups > MOST_GROUPS:
        return None
    cells = find_cells(rows)
    if cells.size > LARGEST:
        return None
    return _Score(cells, rows, group, groups).test(npmle(cells).hazard)


class _Score:
    """Where each life lies among the pooled cells, by group."""

    def __init__(self, cells: Cells, rows: Rows, group: Ints, groups: int) -> None:
        self.group, self.groups, self.size, self.count = group, groups, cells.size, rows.count
        self.failed, self.cut = ~np.isnan(rows.high), ~np.isnan(rows.known_by)
        point = cells.left == cells.right
        ages = np.unique(np.concatenate([cells.left, rows.entry, rows.low]))

        def code(values: Floats, at: Mask) -> Ints:
            # an interval begins just after its left end, a point at it
            return 2 * np.searchsorted(ages, values) + ~at

        starts = code(cells.left, point)
        self.entered = np.searchsorted(starts, code(rows.entry, np.zeros(len(rows.entry), bool)))
        self.first = np.searchsorted(starts, code(rows.low, rows.high == rows.low))
        self.last = np.searchsorted(cells.right, rows.high, "right")
        self.known = np.searchsorted(cells.right, rows.known_by, "right")

    def test(self, chance: Floats) -> RankTest:
        """The test at the pooled chances to fail in each cell, given that it is reached."""
        sure = chance >= 1.0 - 1e-12
        free = ~sure & (chance > _NO_MASS)
        a = np.where(free, -np.log1p(-np.where(free, chance, 0.0)), 0.0)
        windows = [
            self._window(a, sure, self.first, self.last, self.failed, 1.0),
            self._window(a, sure, self.entered, self.known, self.cut, -1.0),
        ]
        step = np.where(free, chance, 0.0)  # how a hazard moves with the log of its odds
        slope = -self._spread(self.group, self.entered, self.first, self.count)
        for group, start, end, rate, _ in windows:
            slope = slope + self._spread(group, start, end, rate)
        bend = step * (1.0 - step) * slope
        total = np.concatenate(([0.0], np.cumsum(step)))
        cross, whole = -bend, np.zeros((self.size + 1, self.size + 1))
        for group, start, end, _, turn in windows:
            reach = turn * (total[end] - total[start])
            cross = cross + step * self._spread(group, start, end, reach)
            for i, j, s in ((start, start, 1), (start, end, -1), (end, start, -1), (end, end, 1)):
                np.add.at(whole, (i, j), s * turn)
        inner = whole.cumsum(axis=0).cumsum(axis=1)[: self.size, : self.size]
        nuisance = inner * step * step[:, None] - np.diag(bend.sum(axis=0))
        variance = np.diag(cross.sum(axis=1))
        at = np.flatnonzero(free)
        if len(at):
            variance = variance - cross[:, at] @ _solve(nuisance[np.ix_(at, at)], cross[:, at].T)
        score = (step * slope).sum(axis=1)
        observed = group_sum(self.group[self.failed], self.count[self.failed], self.groups)
        return judge(observed, observed - score, 0.5 * (variance + variance.T))

    def _window(
        self, a: Floats, sure: Mask, start: Ints, end: Ints, use: Mask, sign: float
    ) -> tuple[Ints, Ints, Ints, Floats, Floats]:
        """Slope and curvature of sign * log(1 - exp(-hazard within the window)), by life."""
        start, end, group = start[use], end[use], self.group[use]
        total = np.concatenate(([0.0], np.cumsum(a)))
        certain = np.concatenate(([0], np.cumsum(sure)))
        within = np.maximum(total[end] - total[start], 0.0)
        open_end = (certain[end] == certain[start]) & (within > 0.0)
        safe = np.where(open_end, within, 1.0)
        rate = np.where(open_end, 1.0 / np.expm1(safe), 0.0)
        weight = sign * self.count[use]
        return group, start, end, weight * rate, weight * rate * (1.0 + rate)

    def _spread(self, group: Ints, start: Ints, end: Ints, weight: Floats) -> Floats:
        """Sum of weights over the lives of each group whose window holds each cell."""
        width = self.size + 1
        delta = group_sum(group * width + start, weight, self.groups * width)
        delta = delta - group_sum(group * width + end, weight, self.groups * width)
        return np.asarray(delta.reshape(self.groups, width).cumsum(axis=1)[:, : self.size])


def _solve(matrix: Floats, right: Floats) -> Floats:
    """Solution by pseudo-inverse of the scaled matrix: flat directions tell nothing."""
    size = 1.0 / np.sqrt(np.maximum(np.abs(np.diag(matrix)), 1e-300))
    scaled = matrix * size * size[:, None]
    inverse = np.linalg.pinv(scaled, rcond=1e-10, hermitian=True)
    return np.asarray(size[:, None] * (inverse @ (size[:, None] * right)))
