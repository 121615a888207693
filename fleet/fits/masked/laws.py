"""Log-likelihoods of competing Weibulls with sets of suspects. METHODS: masked-causes.

Both take ``z``: log shapes (none, one for all, or one a column), then the failures that each
column is expected to have in the rows where every column was watched. That is the cumulative
hazard times a number that the data fix, so its estimate is a count, and shares are ratios of it.
"""

import numpy as np

from fleet.fits.likelihood import log_difference
from fleet.fits.masked.nodes import interval_nodes
from fleet.fits.masked.rows import MaskedRows
from fleet.fits.rows import Floats

_NEVER = -1e5  # stands for the log of age 0: any power of it is 0


class ShareLaw:
    """Which columns failures fall to, whatever the ages: all that counts when shapes are equal.

    ``sum n (log sum_j w_j e_j - log sum_l r_l e_l) + N log E - E`` with r the columns watched, E
    the sum of e: the likelihood of LifeLaw, highest over shape and level, where shapes are equal
    and every row watches all columns.
    """

    shapes = 0

    def __init__(self, rows: MaskedRows, *, pull: float) -> None:
        failed = rows.failed
        kinds = np.hstack([rows.weight[failed], rows.at_risk[failed]])
        each, which = np.unique(kinds, axis=0, return_inverse=True)
        columns = rows.weight.shape[1]
        self.columns = columns
        self.weight, self.at_risk = each[:, :columns], each[:, columns:]
        self.count = np.bincount(which.ravel(), weights=rows.count[failed], minlength=len(each))
        self.failures = float(self.count.sum())
        self.prior = pull * rows.sizes / rows.sizes.sum()

    def __call__(self, z: Floats) -> tuple[float, Floats]:
        """Log-likelihood, the pull included, and its slope."""
        total = z.sum()
        suspects, watched = self.weight @ z, self.at_risk @ z
        value = self.count @ (np.log(suspects) - np.log(watched))
        value += self.failures * np.log(total) - total
        slope = (self.count / suspects) @ self.weight - (self.count / watched) @ self.at_risk
        slope += self.failures / total - 1.0
        pulled, pulls = _pull(self.prior, z)
        return float(value + pulled), slope + pulls

    def blamed(self, z: Floats) -> Floats:
        """Failures shared out over the columns by how likely each suspect is."""
        return np.asarray((self.count / (self.weight @ z)) @ self.weight * z)


class LifeLaw:
    """The whole likelihood: ``S(t) * sum_j w_j h_j(t)``, intervals, late entry and windows."""

    def __init__(self, rows: MaskedRows, *, own: bool, pull: float) -> None:
        self.rows, self.own = rows, own
        self.columns = rows.weight.shape[1]
        self.shapes = self.columns if own else 1
        self.failures = float(rows.count[rows.failed].sum())
        self.prior = pull * rows.sizes / rows.sizes.sum()
        self.watched = rows.at_risk.astype(np.float64)
        self._lay_out()
        whole = rows.whole
        middle = np.where(np.isnan(rows.high), rows.low, 0.5 * (rows.low + rows.high))
        self.exposed = (self.watched * rows.count[:, None])[whole]
        self.x_middle, self.x_start = _log(middle[whole]), _log(rows.entry[whole])

    def _lay_out(self) -> None:
        """Sort rows by what they need, and put every age they need into one list."""
        rows = self.rows
        closed = rows.high > rows.low
        # with one shape an interval is the board's own times a constant share: closed in form
        formula = closed & (not self.own)
        self.lows = np.flatnonzero(formula | ~rows.failed)
        self.closed = np.flatnonzero(formula)
        self.at_once = np.flatnonzero(rows.failed & ~formula)
        self.known = np.flatnonzero(~np.isnan(rows.known_by))
        exact = np.flatnonzero(rows.high == rows.low)
        summed = np.flatnonzero(closed & ~formula)
        number, x_nodes, log_weight = interval_nodes(rows.low[summed], rows.high[summed])
        # the density of an exact failure is per unit of age
        self.log_weight = np.concatenate([np.full(len(exact), -np.log(rows.unit)), log_weight])
        self.point_row = np.concatenate([exact, summed[number]])
        order = np.argsort(self.point_row, kind="stable")
        self.log_weight, self.point_row = self.log_weight[order], self.point_row[order]
        self.x_points = np.concatenate([_log(rows.low[exact]), x_nodes])[order]
        sizes = np.bincount(self.point_row, minlength=len(rows.count))[self.at_once]
        self.point_starts = np.concatenate(([0], np.cumsum(sizes)))[:-1].astype(np.int64)
        self.point_of = np.repeat(np.arange(len(self.at_once)), sizes)
        places = [
            np.arange(len(rows.count)),
            self.lows,
            self.closed,
            self.known,
            self.point_row,
        ]
        self.of = np.concatenate(places)
        self.x = np.concatenate(
            [
                _log(rows.entry),
                _log(rows.low[self.lows]),
                _log(rows.high[self.closed]),
                _log(rows.known_by[self.known]),
                self.x_points,
            ]
        )
        self.cuts = np.cumsum([len(p) for p in places])[:-1]

    def exposure(self, shapes: Floats) -> tuple[Floats, Floats]:
        """Per column the failures expected at a unit of hazard, and its slope in the shape."""
        late, early = (
            np.exp(self.x_middle[:, None] * shapes),
            np.exp(self.x_start[:, None] * shapes),
        )
        zero = late - early
        slope = late * self.x_middle[:, None] - early * self.x_start[:, None]
        return (self.exposed * zero).sum(axis=0), (self.exposed * slope).sum(axis=0)

    def rates(self, z: Floats) -> tuple[Floats, Floats]:
        """Shapes and hazards at the largest age, one a column."""
        shapes = np.exp(z[: self.shapes])
        return np.broadcast_to(shapes, (self.columns,)), z[self.shapes :] / self.exposure(shapes)[0]

    def __call__(self, z: Floats) -> tuple[float, Floats]:
        """Log-likelihood, the pull included, and its slope in z."""
        rows = self.rows
        shapes, level = np.exp(z[: self.shapes]), z[self.shapes :]
        exposure, bend = self.exposure(shapes)
        rate = level / exposure
        power = np.exp(self.x[:, None] * shapes)
        risk = self.watched[self.of] * power  # (ages, columns)
        entry, low, high, known, point = np.split(risk @ rate, self.cuts)
        by_age = [np.zeros(len(part)) for part in (entry, low, high, known, point)]
        value = rows.count @ entry
        by_age[0] += rows.count
        value -= rows.count[self.lows] @ low
        by_age[1] -= rows.count[self.lows]
        slope_rate, slope_shape = np.zeros(self.columns), np.zeros(self.columns)

        value += self._windows(entry, low, high, known, by_age)
        share, suspected, watched = self._shares(rate)
        value += share
        slope_rate += suspected - watched

        told, of_rate, of_shape, blame = self._points(shapes, rate, power[self.cuts[3] :], point)
        value += told
        slope_rate += of_rate
        slope_shape += of_shape
        by_age[4] -= blame

        weights = np.concatenate(by_age)
        slope_rate += weights @ risk
        slope_shape += rate * ((weights * self.x) @ risk)
        slope_shape -= slope_rate * rate * bend / exposure
        in_log = slope_shape * shapes
        pulled, pulls = _pull(self.prior, level)
        in_shapes = in_log if self.own else np.array([in_log.sum()])
        return float(value + pulled), np.concatenate([in_shapes, slope_rate / exposure + pulls])

    def _windows(
        self, entry: Floats, low: Floats, high: Floats, known: Floats, by_age: list[Floats]
    ) -> float:
        """Intervals in closed form, and what is known only because it failed."""
        place = np.searchsorted(self.lows, self.closed)
        width, n = high - low[place], self.rows.count[self.closed]
        value = n @ log_difference(width)
        with np.errstate(over="ignore", divide="ignore"):
            part = n / np.expm1(width)
            by_age[2] += part
            by_age[1][place] -= part
            width, n = known - entry[self.known], self.rows.count[self.known]
            part = n / np.expm1(width)
        by_age[3] -= part
        by_age[0][self.known] += part
        return float(value - n @ log_difference(width))

    def _shares(self, rate: Floats) -> tuple[float, Floats, Floats]:
        """For intervals in closed form: the suspects' part of the hazard."""
        weight, watched = self.rows.weight[self.closed], self.watched[self.closed]
        n = self.rows.count[self.closed]
        suspects, all_ = weight @ rate, watched @ rate
        value = n @ (np.log(suspects) - np.log(all_))
        return float(value), (n / suspects) @ weight, (n / all_) @ watched

    def _points(
        self, shapes: Floats, rate: Floats, power: Floats, total: Floats
    ) -> tuple[float, Floats, Floats, Floats]:
        """Exact failures, and intervals that are summed over their nodes."""
        weight = self.rows.weight[self.point_row]
        slopes = weight * power * shapes  # of the cumulative hazard in log age, per rate
        hazard = slopes @ rate
        with np.errstate(divide="ignore"):
            logs = self.log_weight + np.log(hazard) - self.x_points - total
        if not len(self.at_once):
            nothing = np.zeros(self.columns)
            return 0.0, nothing, nothing, np.zeros(0)
        top = np.maximum.reduceat(logs, self.point_starts)
        part = np.exp(logs - top[self.point_of])
        size = np.add.reduceat(part, self.point_starts)
        n = self.rows.count[self.at_once]
        part *= (n / size)[self.point_of]
        with np.errstate(divide="ignore", invalid="ignore"):
            blame = np.where(hazard > 0.0, part / hazard, 0.0)[:, None] * slopes
        in_shape = (blame * rate * (1.0 / shapes + self.x_points[:, None])).sum(axis=0)
        return float(n @ (top + np.log(size))), blame.sum(axis=0), in_shape, part

    def blamed(self, z: Floats) -> Floats:
        """Failures shared out over the columns by how likely each suspect is."""
        shapes, rate = np.exp(z[: self.shapes]), z[self.shapes :] / self._exposed(z)
        power = np.exp(self.x[:, None] * shapes)
        total = np.split((self.watched[self.of] * power) @ rate, self.cuts)[4]
        by_points = self._points(shapes, rate, power[self.cuts[3] :], total)[1] * rate
        weight, n = self.rows.weight[self.closed], self.rows.count[self.closed]
        return np.asarray(by_points + (n / (weight @ rate)) @ weight * rate)

    def _exposed(self, z: Floats) -> Floats:
        return self.exposure(np.exp(z[: self.shapes]))[0]


def _log(ages: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        return np.maximum(np.log(ages), _NEVER)


def _pull(prior: Floats, level: Floats) -> tuple[float, Floats]:
    """Log of the prior on the shares, and its slope."""
    if not prior.any():
        return 0.0, np.zeros(len(level))
    total = level.sum()
    value = prior @ np.log(level) - prior.sum() * np.log(total)
    return float(value), prior / level - prior.sum() / total
