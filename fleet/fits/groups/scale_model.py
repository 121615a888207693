"""Weibull lives whose scale depends on columns: the one likelihood with its slopes.

``log scale = X @ coefficients``, one shape for all. METHODS: regression. Every row's part depends
on its own log scale and the log shape only, so slopes and curvatures are sums of two-by-two
parts and any kind of life is allowed: delayed entry, intervals, truncation from above, counts.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from fleet.fits.groups.life_ages import Ages
from fleet.fits.rows import Floats, Ints, Mask, group_sum

_FAR = 600.0  # log of a hazard beyond which powers overflow
FLAT = 25.0  # log of a ratio of lives beyond which nobody could tell it from endless


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Best:
    """Where the likelihood is largest: coefficients and then log shape.

    `covariance` is the inverse of the observed information. `excess`: largest slope of the
    log-likelihood per life, 0 at a maximum.
    """

    theta: Floats
    value: float
    covariance: Floats
    excess: float


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Columns:
    """A design matrix (lives, columns), its first column of ones, the others centred and scaled."""

    matrix: Floats

    @property
    def width(self) -> int:
        """How many coefficients there are."""
        return int(self.matrix.shape[1])

    @property
    def size(self) -> int:
        """Numbers a sum over it takes."""
        return int(self.matrix.size)

    def start(self, level: float) -> Floats:
        """Coefficients of lives that all have this log scale."""
        return np.append(level, np.zeros(self.width - 1))

    def shift(self, coefficients: Floats) -> Floats:
        """Log scale of each life."""
        return np.asarray(self.matrix @ coefficients)

    def sum(self, weight: Floats) -> Floats:
        """Sum of each column times a weight."""
        return np.asarray(self.matrix.T @ weight)

    def square(self, weight: Floats) -> Floats:
        """Sum of each pair of columns times a weight."""
        return np.asarray(self.matrix.T @ (weight[:, None] * self.matrix))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Groups:
    """A design in which each group has a log scale of its own: the number of each life's group."""

    group: Ints
    width: int

    @property
    def size(self) -> int:
        """Numbers a sum over it takes."""
        return len(self.group)

    def start(self, level: float) -> Floats:
        """Coefficients of lives that all have this log scale."""
        return np.full(self.width, level)

    def shift(self, coefficients: Floats) -> Floats:
        """Log scale of each life."""
        return coefficients[self.group]

    def sum(self, weight: Floats) -> Floats:
        """Sum of a weight over each group."""
        return group_sum(self.group, weight, self.width)

    def square(self, weight: Floats) -> Floats:
        """The same on the diagonal: no life is in two groups."""
        return np.diag(self.sum(weight))


class ScaleModel:
    """The log-likelihood of lives given what their log scales are made of.

    Ages in one unit.
    """

    def __init__(self, ages: Ages, count: Floats, design: Columns | Groups) -> None:
        entry, low, high, known_by = ages
        with np.errstate(divide="ignore"):
            self.entry, self.low = np.log(entry), np.log(low)
            self.high, self.known = np.log(high), np.log(known_by)
        self.exact, self.closed = high == low, high > low
        self.cut = ~np.isnan(known_by)
        vacuous = self.closed & self.cut & (low == entry) & (high == known_by)
        self.told = ~vacuous  # an interval that fills its window says nothing
        self.count = np.where(self.told, count, 0.0)
        self.design = design
        self._last: tuple[Floats, tuple[float, Floats, Floats]] | None = None
        self.lives = float(self.count.sum())

    def start(self) -> Floats:
        """A first guess: the mean log age, raised for those still good, at shape 1.5."""
        middle = np.fmax(self.low, self.high)
        ok = np.isfinite(middle) & (self.count > 0)
        level = float(np.average(middle[ok], weights=self.count[ok])) if ok.any() else 0.0
        failed = self.count[self.exact | self.closed].sum()
        level += float(np.log(max(self.lives / max(failed, 0.5), 1.0))) / 1.5
        return np.append(self.design.start(level), np.log(1.5))

    def value(self, theta: Floats) -> float:
        """Log-likelihood of the density per unit of age."""
        return self.slopes(theta)[0]

    def slopes(self, theta: Floats) -> tuple[float, Floats, Floats]:
        """Log-likelihood, its gradient and its Hessian in (coefficients, log shape)."""
        if self._last is not None and np.array_equal(self._last[0], theta):
            return self._last[1]
        value, g, h = self._sums(theta)
        gradient = np.append(self.design.sum(g[0]), g[1].sum())
        hessian = np.empty((len(theta), len(theta)))
        hessian[:-1, :-1] = self.design.square(h[0])
        hessian[:-1, -1] = hessian[-1, :-1] = self.design.sum(h[1])
        hessian[-1, -1] = h[2].sum()
        self._last = theta.copy(), (value, gradient, hessian)
        return value, gradient, hessian

    def _sums(self, theta: Floats) -> tuple[float, list[Floats], list[Floats]]:
        shift, tau = self.design.shift(theta[:-1]), float(theta[-1])
        b = np.exp(np.clip(tau, -30.0, 30.0))
        with np.errstate(all="ignore"):
            at_entry, at_low = _hazard(self.entry, shift, b), _hazard(self.low, shift, b)
            exact = self.exact
            z = np.where(exact, b * (self.low - shift), 0.0)
            part = at_entry[0] - at_low[0] + np.where(exact, tau + z - self.low, 0.0)
            g = [at_entry[1] - at_low[1] - b * exact, at_entry[2] - at_low[2] + exact + z]
            h = [at_entry[i] - at_low[i] for i in (3, 4, 5)]
            h[1], h[2] = h[1] - b * exact, h[2] + z
            for use, start, end, sign in (
                (self.closed, self.low, self.high, 1.0),
                (self.cut, self.entry, self.known, -1.0),
            ):
                if use.any():
                    _add_window(part, g, h, use, start[use], end[use], shift[use], b, sign)
            value = float(self.count @ np.where(self.count > 0, part, 0.0))
        return (
            value if np.isfinite(value) else -np.inf,
            [_finite(v) * self.count for v in g],
            [_finite(v) * self.count for v in h],
        )

    def maximum(self, start: Floats | None = None, hold: Ints | None = None) -> Best:
        """The likelihood's maximum, with the parameters `hold` kept as in `start`.

        Trust-region steps, then Newton steps until the slope is rounding. Where the likelihood
        keeps rising the answer is far out and flat; see `open_ended`.
        """
        from scipy.optimize import minimize

        theta = self.start() if start is None else start.copy()
        free = np.setdiff1d(np.arange(len(theta)), [] if hold is None else hold)

        def full(part: Floats) -> Floats:
            out = theta.copy()
            out[free] = part
            return out

        def down(part: Floats) -> tuple[float, Floats]:
            value, gradient, _ = self.slopes(full(part))
            return (-value if np.isfinite(value) else 1e300), -gradient[free]

        def bend(part: Floats) -> Floats:
            return np.asarray(-self.slopes(full(part))[2][np.ix_(free, free)])

        part = theta[free]
        if self._excess(theta, free) > 1e-4:
            options = {"gtol": 1e-6 * max(self.lives, 1.0), "maxiter": 300}
            part = minimize(
                down, part, jac=True, hess=bend, method="trust-exact", options=options
            ).x
        theta = self._polish(full(part), free)
        value, gradient, hessian = self.slopes(theta)
        covariance = np.zeros((len(theta), len(theta)))
        covariance[np.ix_(free, free)] = np.linalg.pinv(
            -hessian[np.ix_(free, free)], rcond=1e-14, hermitian=True
        )
        excess = float(np.abs(gradient[free]).max(initial=0.0)) / max(self.lives, 1.0)
        return Best(theta=theta, value=value, covariance=covariance, excess=excess)

    def _excess(self, theta: Floats, free: Ints) -> float:
        value, gradient, _ = self.slopes(theta)
        if not np.isfinite(value):
            return np.inf
        return float(np.abs(gradient[free]).max(initial=0.0)) / max(self.lives, 1.0)

    def _polish(self, theta: Floats, free: Ints) -> Floats:
        for _ in range(12):
            value, gradient, hessian = self.slopes(theta)
            inner = -hessian[np.ix_(free, free)]
            try:
                move = np.linalg.solve(inner, gradient[free])
            except np.linalg.LinAlgError:
                break
            new = theta.copy()
            new[free] += move
            if np.abs(move).max(initial=0.0) > 2.0 or self.value(new) < value - 1e-10 * abs(value):
                break
            theta = new
            if np.abs(move).max(initial=0.0) < 1e-11:
                break
        return theta

    def limits(self, best: Best, k: int, drop: float) -> tuple[float | None, float | None]:
        """Where the profile over parameter k has fallen by `drop`; None where it never does."""
        return self._limit(best, k, drop, -1.0), self._limit(best, k, drop, 1.0)

    def _limit(self, best: Best, k: int, drop: float, sign: float) -> float | None:
        from scipy.optimize import brentq

        warm: list[Any] = [best.theta]
        known = {float(best.theta[k]): drop}

        def above(x: float) -> float:
            if x not in known:
                start = warm[0].copy()
                start[k] = x
                found = self.maximum(start, np.array([k]))
                warm[0] = found.theta
                known[x] = found.value - best.value + drop
            return known[x]

        step = np.sqrt(max(best.covariance[k, k], 1e-12) * 2.0 * drop)
        step = float(np.clip(step, 1e-3, 2.0))
        inside, outside = float(best.theta[k]), float(best.theta[k]) + sign * step
        while above(outside) > 0.0:
            inside, step = outside, 1.5 * step
            outside += sign * step
            if sign * outside > sign * best.theta[k] + FLAT:
                return None
        return float(brentq(above, inside, outside, xtol=1e-9, rtol=1e-12))


def open_ended(best: Best, k: int, *, whole: bool = False) -> bool:
    """Whether the likelihood has run along parameter k to where it is flat: no estimate.

    Parameter 0, and all where `whole`, is a log scale in itself, not a ratio.
    """
    sd = np.sqrt(max(best.covariance[k, k], 0.0))
    far = k > 0 and not whole and abs(best.theta[k]) > 0.5 * FLAT
    return bool(sd > 0.5 * FLAT or sd == 0.0 or far)


def _finite(values: Floats) -> Floats:
    return np.where(np.isfinite(values), values, 0.0)


def _hazard(logs: Floats, shift: Floats, b: float) -> tuple[Floats, ...]:
    """Cumulative hazard at log ages; slopes and curvatures in (log scale, log shape)."""
    z = np.minimum(b * (logs - shift), _FAR)
    h = np.exp(z)
    zh = np.where(h > 0.0, z * h, 0.0)
    return h, -b * h, zh, b * b * h, -b * (h + zh), np.where(h > 0.0, zh * (1.0 + z), 0.0)


def _add_window(part: Floats, g: list[Floats], h: list[Floats], use: Mask, start: Floats,
                end: Floats, shift: Floats, b: float, sign: float) -> None:  # fmt: skip
    """Add sign * log(1 - exp(-hazard between start and end)) to the rows `use`."""
    near, far = _hazard(start, shift, b), _hazard(end, shift, b)
    d = [f - n for f, n in zip(far, near, strict=True)]
    y = np.maximum(d[0], 1e-300)
    rate = np.where(y < 500.0, 1.0 / np.expm1(np.minimum(y, 500.0)), 0.0)
    turn = -rate * (1.0 + rate)
    part[use] += sign * np.where(y < 0.7, np.log(-np.expm1(-y)), np.log1p(-np.exp(-y)))
    g[0][use] += sign * rate * d[1]
    g[1][use] += sign * rate * d[2]
    h[0][use] += sign * (rate * d[3] + turn * d[1] ** 2)
    h[1][use] += sign * (rate * d[4] + turn * d[1] * d[2])
    h[2][use] += sign * (rate * d[5] + turn * d[2] ** 2)
