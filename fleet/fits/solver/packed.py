"""Groups of about equal size as matrices, one column a group: the quick solver's likelihood.

Cumulative hazard is ``H(t) = exp(c + b x)`` with ``x = log(t / t0)`` and t0 the group's largest
age. Then the log-likelihood of a group is ``D (log b + c) + b sum(x) - exp(c) A(b)`` plus the
windows' ``sum(v log(1 - exp(-y)))``: D exact failures, A the signed sum of ``exp(b x)`` over
ends (+) and entries (-), y the hazard within an interval (v = +count) or within the window of a
life known only because it failed (v = -count). METHODS: weibull.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask, Rows

_NEVER = -1e6  # log age that stands for age 0: exp(b * _NEVER) is 0 for every shape tried
_LARGE = 700.0  # hazard beyond which 1 - exp(-y) is 1 and exp(y) would overflow
_SMALL = 1e-5  # hazard below which exp(y) - 1 loses digits that matter
_LARGE_SINGLE, _SMALL_SINGLE = np.float32(80.0), np.float32(0.05)  # the same, single precision
_FEW = 12.0  # failures below which a likelihood may be far from quadratic
_CELLS = 65_536  # matrix entries worked on at once: few calls, and not too far from the cache


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Derivatives:
    """A log-likelihood, or the windows' part of one, with its derivatives in shape b and in c."""

    value: Floats
    b: Floats
    c: Floats
    bb: Floats
    bc: Floats
    cc: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Packed:
    """Terms of G groups. Matrices are (terms, G), filled up with terms of weight 0.

    Ends and entries: `x` and `moments` (3, terms, G), the weight times 1, x and x squared.
    Windows: `far`, `near`, `window_weight`. `exact`, `sum_x` and `constant` belong to exact
    failures; `failures` counts all and `middle_x` sums their x, an interval's in its middle;
    `guess` is a rough log shape. `log_top` is log t0. `risky`: a likelihood that may have several
    peaks; `doubtful`: that, with few failures, half or more of them known only because they
    happened. `short_watch`, `short_window`: too short for differences of exponentials; `narrow`:
    one of these, or no failure but those known only because they happened.
    """

    exact: Floats
    sum_x: Floats
    constant: Floats
    failures: Floats
    middle_x: Floats
    guess: Floats
    log_top: Floats
    x: Floats
    moments: Floats
    far: Floats
    near: Floats
    window_weight: Floats
    risky: Mask
    doubtful: Mask
    short_watch: Mask
    short_window: Mask
    narrow: Mask

    @property
    def groups(self) -> int:
        """How many groups there are."""
        return len(self.exact)

    def take(self, which: Ints) -> "Packed":
        """Some of the groups."""
        return Packed(
            **{f.name: np.take(getattr(self, f.name), which, axis=-1) for f in fields(self)}
        )

    def single(self) -> "Packed":
        """The same in single precision: four times as quick, for the way to a solution only."""
        names = ("x", "moments", "far", "near", "window_weight")
        return replace(self, **{n: getattr(self, n).astype(np.float32) for n in names})

    def exposure(self, b: Floats) -> Floats:
        """A(b) and its first two derivatives, (3, problems, G), at shapes (problems, G)."""
        total = np.zeros((3, *b.shape))
        b = b.astype(self.x.dtype, copy=False)
        for cut in slices(b.size, len(self.x)):
            power = b[:, None, :] * self.x[cut]
            np.exp(power, out=power)
            total += np.einsum("pmg,img->ipg", power, self.moments[:, cut])
        return total

    def windows(self, b: Floats, c: Floats) -> Derivatives:
        """The windows' part of the log-likelihood at (problems, G) parameters."""
        total = np.zeros((6, *b.shape))
        b, c = (v[:, None, :].astype(self.far.dtype, copy=False) for v in (b, c))
        for cut in slices(b.size, len(self.far)):
            total += self._windows(b, c, cut)
        return Derivatives(**dict(zip(_PARTS, total, strict=True)))

    def _windows(self, b: Floats, c: Floats, cut: slice) -> Floats:
        far, near = self.far[cut], self.near[cut]
        late, early = b * far, b * near
        late += c
        early += c
        np.exp(late, out=late)
        np.exp(early, out=early)
        y = late - early
        late *= far
        early *= near
        y_b = late - early
        late *= far
        early *= near
        late -= early  # second derivative of y in b
        grown = _grown(y)
        ratio = grown + 1.0
        pull = 1.0 / grown
        # slope of log(1 - exp(-y)) in y is 1 / (exp(y) - 1), its slope that times itself + 1
        out = np.empty((6, *y.shape), dtype=y.dtype)
        np.log(grown, out=out[0])
        out[0] -= y
        in_b, in_c = np.multiply(y_b, pull, out=out[1]), np.multiply(y, pull, out=out[2])
        ratio_b = ratio * in_b
        np.multiply(late, pull, out=out[3])
        out[3] -= in_b * ratio_b
        np.subtract(in_b, in_c * ratio_b, out=out[4])
        ratio *= in_c
        np.subtract(in_c, ratio * in_c, out=out[5])
        return np.asarray(np.einsum("kpmg,mg->kpg", out, self.window_weight[cut]))

    def derivatives(
        self, b: Floats, c: Floats, exposure: Floats, windows: Derivatives
    ) -> Derivatives:
        """Log-likelihood at (problems, G) parameters from its two parts taken there."""
        zero, first, second = exposure * np.exp(c)
        return Derivatives(
            value=self.exact * (np.log(b) + c)
            + b * self.sum_x
            + self.constant
            - zero
            + windows.value,
            b=self.exact / b + self.sum_x - first + windows.b,
            c=self.exact - zero + windows.c,
            bb=-self.exact / b**2 - second + windows.bb,
            bc=windows.bc - first,
            cc=windows.cc - zero,
        )


def _grown(y: Floats) -> Floats:
    """exp(y) - 1, of y held below where it overflows (in place)."""
    single = y.dtype == np.float32
    np.minimum(y, _LARGE_SINGLE if single else _LARGE, out=y)
    smallest = y.min(initial=1.0)
    if smallest > (_SMALL_SINGLE if single else _SMALL):
        out = np.exp(y)
        out -= 1.0
        return out
    if not single:
        return np.expm1(y)
    near = np.minimum(y, _SMALL_SINGLE)
    series = near * (1.0 + near / 2.0 * (1.0 + near / 3.0 * (1.0 + near / 4.0)))
    return np.where(y < _SMALL_SINGLE, series, np.exp(y) - np.float32(1.0))


_PARTS = tuple(f.name for f in fields(Derivatives))


def slices(cells: int, columns: int) -> Iterator[slice]:
    """Runs of terms that make pieces of a size that stays in the cache; `cells` a term."""
    step = max(1, _CELLS // max(cells, 1))
    return (slice(i, min(i + step, columns)) for i in range(0, columns, step))


def pack(rows: Rows) -> Packed:
    """The matrices of the groups of `rows`; every group has rows."""
    sizes, first = np.diff(rows.starts), rows.starts[:-1]
    group = np.repeat(np.arange(rows.groups), sizes)
    n, entry, low, high, known = rows.count, rows.entry, rows.low, rows.high, rows.known_by
    largest = np.fmax(np.fmax(low, high), np.fmax(entry, known))
    top = np.maximum.reduceat(largest, first)
    log_top = np.log(np.where(top > 0.0, top, 1.0))
    behind = log_top[group]
    exact, truncated = high == low, ~np.isnan(known)
    closed, moved = high > low, low > entry
    # an interval that fills its whole window says nothing
    told = ~(closed & truncated & ~moved & (high == known))
    closed, truncated = closed & told, truncated & told
    failed, late = exact | closed, moved & (entry > 0.0)

    def total(values: Floats | Mask) -> Floats:
        return np.add.reduceat(values, first, dtype=np.float64)

    with np.errstate(all="ignore"):
        x_low, x_entry = np.log(low) - behind, np.log(entry) - behind
        middle = np.where(exact, x_low, np.log(0.5 * (low + high)) - behind)
        x_high, x_known = np.log(high) - behind, np.log(known) - behind
    x, weight = _matrix(
        (group, rows.groups),
        (moved, late),
        ((x_low, x_entry), -1.0),
        ((n, -n), 0.0),
    )
    far, near, window_weight = _matrix(
        (group, rows.groups),
        (closed, truncated),
        ((x_high, x_known), 0.0),
        ((np.maximum(x_low, _NEVER), np.maximum(x_entry, _NEVER)), _NEVER),
        ((n, -n), 0.0),
    )
    failures, mean, spread = _spread_of_failures(np.where(failed, n, 0.0), middle, failed, total)
    with np.errstate(all="ignore"):
        known_share = total(np.where(truncated, n, 0.0)) / failures
    short_watch = total(late & (low - entry < 1e-5 * low)) > 0
    short_window = ((far - near < 1e-5) & (window_weight != 0.0)).any(axis=0)
    return Packed(
        exact=total(np.where(exact, n, 0.0)),
        sum_x=total(np.where(exact, n * x_low, 0.0)),
        constant=-total(np.where(exact, n * (x_low + behind), 0.0)),
        failures=failures,
        middle_x=mean * failures,
        guess=0.5 * np.log(1.6 * (failures + 4.0) / spread),
        log_top=log_top,
        x=x,
        moments=np.stack([weight, weight * x, weight * x * x]),
        far=far,
        near=near,
        window_weight=window_weight,
        doubtful=(known_share >= 0.5) & (failures < _FEW),
        risky=(total(truncated) > 0) | (total(closed & (entry > 0.0)) > 0),
        short_watch=short_watch,
        short_window=short_window,
        narrow=short_watch | short_window | (total(failed & ~truncated) == 0),
    )


def _spread_of_failures(
    n: Floats, x: Floats, failed: Mask, total: Callable[[Floats | Mask], Floats]
) -> tuple[Floats, Floats, Floats]:
    """Failures, mean x of them, and the sum of squares about it, drawn towards a shape of 2.5."""
    x = np.where(failed, x, 0.0)
    failures, sums, squares = total(n), total(n * x), total(n * x * x)
    mean = sums / np.maximum(failures, 1e-300)
    return failures, mean, np.maximum(squares - failures * mean * mean, 0.0) + 1.0


def _matrix(
    groups: tuple[Ints, int],
    which: tuple[Mask, Mask],
    *columns: tuple[tuple[Floats, Floats], float],
) -> list[Floats]:
    """Terms of two kinds of rows laid out one column a group.

    Each column of terms comes with its values for rows of either kind and with what fills up.
    """
    group, count = groups
    one, two = (np.flatnonzero(w) for w in which)
    group_one, group_two = group[one], group[two]
    ones, twos = (np.bincount(g, minlength=count) for g in (group_one, group_two))
    width = int((ones + twos).max(initial=0))
    rank_one = np.arange(len(one)) - (np.cumsum(ones) - ones)[group_one]
    rank_two = np.arange(len(two)) - (np.cumsum(twos) - twos - ones)[group_two]
    place = np.concatenate([rank_one * count + group_one, rank_two * count + group_two])
    out = []
    for (first, second), fill in columns:
        flat = np.full(width * count, fill)
        flat[place] = np.concatenate([first[one], second[two]])
        out.append(flat.reshape(width, count))
    return out
