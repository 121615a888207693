"""The Weibull log-likelihood of many groups at once, as sums over terms. METHODS: weibull.

Written in (shape b, c) with cumulative hazard ``H(t) = exp(c + b x)``, ``x = log(t / t0)`` and
t0 the group's largest age, so that no power overflows and hours, days and years agree. At a
fixed shape everything but the closed windows is a number per group: `Terms.at` computes these
once and `Slice` then answers for any c. Along c (for a fixed shape) the log-likelihood is
concave in exp(c) for every kind of row, so its maximum there is unique.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from fleet.fits.rows import Floats, Ints, Rows, group_sum


def _m(y: Floats) -> Floats:
    """log((1 - exp(-y)) / y), 0 at y = 0."""
    safe = np.where(y > 0.0, y, 1.0)
    return np.where(y > 0.0, np.log(-np.expm1(-safe) / safe), 0.0)


def _chi(y: Floats) -> Floats:
    """1 - y / (exp(y) - 1): 0 at 0, 1 far out; minus the slope of `_m` in log y."""
    square = y * y
    near = y * (0.5 - y / 12.0 * (1.0 - square / 60.0 * (1.0 - square / 42.0)))
    safe = np.where(y > 0.05, y, 1.0)
    return np.where(y > 0.05, 1.0 - safe / np.expm1(safe), near)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Part:
    """Terms of one kind, sorted by group, with one idle term of weight 0 at the end."""

    group: Ints
    starts: Ints
    empty: Any
    weight: Floats
    columns: tuple[Floats, ...]

    def sum(self, values: Floats) -> Floats:
        """Sum over each group's terms along the last axis."""
        total = np.add.reduceat(values, self.starts, axis=-1)
        total[..., self.empty] = 0.0
        return total


def _part(
    groups: int, group: Ints, weight: Floats, *columns: Floats, idle: tuple[float, ...]
) -> Part | None:
    if len(group) == 0:
        return None
    sizes = np.bincount(group, minlength=groups)
    return Part(
        group=np.append(group, groups - 1),
        starts=np.concatenate(([0], np.cumsum(sizes)[:-1])),
        empty=np.append(sizes[:-1] == 0, False) if groups > 1 else np.array([False]),
        weight=np.append(weight, 0.0),
        columns=tuple(np.append(c, p) for c, p in zip(columns, idle, strict=True)),
    )


class Terms:
    """Sums that make up the log-likelihood of each group of `rows`.

    `ends`: weight, x of the last age watched, for rows entered at 0. `pairs`: the same with the
    x of the entry. `windows`: weight (+ for an interval, - for a right-truncated window) and
    the x of its two ends. `exact` failures need a count, a sum of x and a constant.
    """

    def __init__(self, rows: Rows) -> None:
        self.groups = rows.groups
        sizes = np.diff(rows.starts)
        group = np.repeat(np.arange(self.groups), sizes)
        n = rows.count
        largest = np.fmax(np.fmax(rows.low, rows.high), np.fmax(rows.entry, rows.known_by))
        top = np.zeros(self.groups)
        np.maximum.at(top, group, largest)
        self.typical = np.where(top > 0.0, top, 1.0)
        with np.errstate(divide="ignore"):
            entry, low, high, known = (
                np.log(v / self.typical[group])
                for v in (rows.entry, rows.low, rows.high, rows.known_by)
            )
        exact, closed = rows.high == rows.low, rows.high > rows.low
        truncated = ~np.isnan(rows.known_by)
        # an interval that fills its whole window says nothing
        vacuous = closed & truncated & (rows.low == rows.entry) & (rows.high == rows.known_by)
        closed, truncated = closed & ~vacuous, truncated & ~vacuous

        def per_group(values: Floats) -> Floats:
            return group_sum(group, values, self.groups)

        # sums over so many lives are not exact beyond this
        self.noise = 2e-15 * (1.0 + per_group(n))
        self.exact = per_group(np.where(exact, n, 0.0))
        self.sum_x = per_group(np.where(exact, n * low, 0.0))
        self.constant = -per_group(np.where(exact, n * np.log(np.where(exact, rows.low, 1.0)), 0.0))
        failed = exact | closed
        open_failures = per_group(failed & ~truncated) > 0.0
        balance = per_group(n * (failed.astype(float) - truncated))
        # power of exp(c) near 0; exactly 0 where every failure is known only because it failed
        self.balance = np.where(open_failures, balance, 0.0)
        self.all_known_by = ~open_failures
        moved = rows.low > rows.entry
        late = rows.entry > 0.0
        one, two = moved & ~late, moved & late
        self.ends = _part(self.groups, group[one], n[one], low[one], idle=(-1.0,))
        self.pairs = _part(self.groups, group[two], n[two], low[two], entry[two], idle=(-1.0, -1.0))
        which = np.concatenate((group[closed], group[truncated]))
        order = np.argsort(which, kind="stable")
        weight = np.concatenate((n[closed], -n[truncated]))[order]
        far = np.concatenate((high[closed], known[truncated]))[order]
        near = np.concatenate((low[closed], entry[truncated]))[order]
        self.windows = _part(self.groups, which[order], weight, far, near, idle=(-1.0, -np.inf))

    def at(self, shape: Floats) -> "Slice":
        """Sums for one shape per group; `shape` is (problems, groups)."""
        with np.errstate(all="ignore"):
            return self._at(shape)

    def _at(self, b: Floats) -> "Slice":
        a0, a1, a2 = (np.zeros(b.shape) for _ in range(3))
        if self.ends is not None:
            (x,) = self.ends.columns
            power = self.ends.weight * np.exp(b[:, self.ends.group] * x)
            a0 += self.ends.sum(power)
            a1 += self.ends.sum(power * x)
            a2 += self.ends.sum(power * x * x)
        if self.pairs is not None:
            x, e = self.pairs.columns
            bb = b[:, self.pairs.group]
            far = self.pairs.weight * np.exp(bb * x)
            gap = -far * np.expm1(bb * (e - x))
            a0 += self.pairs.sum(gap)
            a1 += self.pairs.sum(e * gap + (x - e) * far)
            a2 += self.pairs.sum(e * e * gap + (x * x - e * e) * far)
        k = self.exact * np.log(b) + b * self.sum_x + self.constant
        k_b, k_bb = self.exact / b + self.sum_x, -self.exact / b**2
        y = mean = spread = np.zeros((1, 0))
        if self.windows is not None:
            far, near = self.windows.columns
            bb = b[:, self.windows.group]
            open_end = np.isinf(near)
            q = np.where(open_end, 0.0, 1.0 / np.expm1(bb * (far - near)))
            width = np.where(open_end, 0.0, far - near)
            mean = far + q * width
            spread = -(width**2) * q * (1.0 + q)
            log_y = bb * far + np.log(-np.expm1(-bb * (far - near)))
            y = np.exp(log_y)
            k = k + self.windows.sum(self.windows.weight * log_y)
            k_b = k_b + self.windows.sum(self.windows.weight * mean)
            k_bb = k_bb + self.windows.sum(self.windows.weight * spread)
        return Slice(
            balance=np.broadcast_to(self.balance, b.shape),
            noise=self.noise,
            windows=self.windows,
            k=(k, k_b, k_bb),
            a=(a0, a1, a2),
            y=y,
            mean=mean,
            spread=spread,
        )

    def at_zero(self) -> "Slice":
        """The limit as shape runs to 0 with ``c = log(k / shape)``, as a function of log k.

        Ages past an entry above 0 are then Pareto: ``P(T > t | T > e) = (e / t) ** k``. Rows
        entered at 0 must fail at once to count nothing; the caller sees to that.
        """
        shape = (1, self.groups)
        a0 = np.zeros(shape)
        if self.pairs is not None:
            x, e = self.pairs.columns
            a0 = self.pairs.sum((self.pairs.weight * (x - e))[None, :])
        balance, k = self.balance[None, :], np.broadcast_to(self.constant, shape)
        windows, y = self.windows, np.zeros((1, 0))
        if windows is not None:
            far, near = windows.columns
            open_end = np.isinf(near)
            weight = np.where(open_end, 0.0, windows.weight)
            y = np.where(open_end, 1.0, far - near)[None, :]
            k = k + windows.sum((weight * np.log(y[0]))[None, :])
            balance = balance - windows.sum((windows.weight - weight)[None, :])
            windows = replace(windows, weight=weight)
        balance = np.where(np.abs(balance) < 1e-9, 0.0, balance)
        return Slice(
            balance=balance,
            noise=self.noise,
            windows=windows,
            k=(k, k, k),
            a=(a0, a0, a0),
            y=y,
            mean=y,
            spread=y,
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class Slice:
    """The log-likelihood as a function of c at a fixed shape."""

    balance: Floats
    noise: Floats
    windows: Part | None
    k: tuple[Floats, Floats, Floats]
    a: tuple[Floats, Floats, Floats]
    y: Floats
    mean: Floats
    spread: Floats

    @cached_property
    def at_no_hazard(self) -> Floats:
        """Value as c runs to minus infinity: finite only where balance is 0."""
        return np.where(self.balance > 0.0, -np.inf, self.k[0])

    @cached_property
    def rise_at_no_hazard(self) -> Floats:
        """Slope in exp(c) at exp(c) = 0, where balance is 0."""
        if self.windows is None:
            return -self.a[0]
        return -self.a[0] - 0.5 * self.windows.sum(self.windows.weight * self.y)

    def _window(self, part: Part, c: Floats) -> Floats:
        """Hazard within each window."""
        return np.exp(c)[:, part.group] * self.y

    def value(self, c: Floats) -> tuple[Floats, Floats, Floats]:
        """Log-likelihood, its slope and its curvature in c."""
        with np.errstate(all="ignore"):
            power = np.exp(c) * self.a[0]
            tilt = np.where(self.balance > 0.0, self.balance * c, 0.0)
            value, slope, bend = self.k[0] + tilt - power, self.balance - power, -power
            if self.windows is not None:
                part = self.windows
                y = self._window(part, c)
                chi = _chi(y)
                value = value + part.sum(part.weight * _m(y))
                slope = slope - part.sum(part.weight * chi)
                turn = np.where(np.isinf(y), 0.0, (1.0 - chi) * (y - chi))
                bend = bend - part.sum(part.weight * turn)
        return value, slope, bend

    def slopes(self, c: Floats) -> tuple[Floats, Floats]:
        """Slopes of the log-likelihood in shape and in c."""
        with np.errstate(all="ignore"):
            level = np.exp(c)
            in_b, in_c = self.k[1] - level * self.a[1], self.balance - level * self.a[0]
            if self.windows is not None:
                part = self.windows
                y = self._window(part, c)
                chi = part.weight * _chi(y)
                in_b, in_c = in_b - part.sum(chi * self.mean), in_c - part.sum(chi)
        return in_b, in_c

    def hessian(self, c: Floats) -> tuple[Floats, Floats, Floats]:
        """Second derivatives: shape twice, shape and c, c twice."""
        with np.errstate(all="ignore"):
            level = np.exp(c)
            bb, bc, cc = self.k[2] - level * self.a[2], -level * self.a[1], -level * self.a[0]
            if self.windows is not None:
                part = self.windows
                y = self._window(part, c)
                chi = _chi(y)
                turn = part.weight * np.where(np.isinf(y), 0.0, (1.0 - chi) * (y - chi))
                bb = bb - part.sum(turn * self.mean**2 + part.weight * chi * self.spread)
                bc = bc - part.sum(turn * self.mean)
                cc = cc - part.sum(turn)
        return bb, bc, cc
