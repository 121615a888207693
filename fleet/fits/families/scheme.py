"""How each life of one group was watched, so that lives can be drawn anew under the same watch.

METHODS: departure. What the life table does not say is filled in by the nearest honest guess:

- A life still good was watched from `entry` to `low`: kept as it is.
- A life that failed would have been watched on for some time: how long is drawn from the
  Kaplan-Meier estimate of the watching times (age left minus age entered, where failures cut the
  watch short), given that it lasted at least as long as it did. Where nobody left still good,
  every life is watched until it fails.
- A life known only because it failed fails within (entry, known_by].
- A failure known to lie in an interval was found at a look. Where no interval begins after entry
  and no failure is exact, each life has one look, at the age it had then. Where looks are shared
  by many lives (readouts), every life is looked at then. Otherwise each life is looked at in
  steps as long as its own interval, and a life still good borrows the step of one that failed.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask, Rows

Looks = Literal["one", "shared", "own"]

_PAIRS = 2_000  # distinct watches kept apart; more are rounded
_ROUND = 200.0  # then to this part of the largest age
_READOUTS = 30  # more ages than this are no common readouts


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Scheme:
    """The watch of one group. Ages are parts of its largest age `unit`.

    `good_*`: lives still good, `number` alike in each row, each of weight `good_weight`.
    `fail_*`: one entry a life that failed; `step` 0 where its age is exact, `known_by` NaN unless
    known only because it failed. `left`, `left_by`: watching times and the share that have left
    by then.
    """

    unit: float
    good_entry: Floats
    good_end: Floats
    good_number: Ints
    good_weight: Floats
    fail_entry: Floats
    fail_low: Floats
    fail_high: Floats
    fail_known: Floats
    fail_weight: Floats
    left: Floats
    left_by: Floats
    longest: float
    looks: Looks
    look_ages: Floats

    @property
    def size(self) -> int:
        """Rows of one draw, about."""
        return len(self.good_entry) + 2 * len(self.fail_entry)


def _merge(columns: Floats, count: Floats) -> tuple[Floats, Floats]:
    """Distinct rows in sorted order and their summed counts: neither order nor splits matter."""
    if columns.shape[1] == 0:
        return columns, count
    distinct, which = np.unique(np.nan_to_num(columns, nan=-1.0), axis=1, return_inverse=True)
    total = np.asarray(np.bincount(which.ravel(), weights=count), dtype=np.float64)
    return np.where(distinct < 0.0, np.nan, distinct), total


def _whole_lives(count: Floats) -> tuple[Ints, Ints, Floats]:
    """Rows, numbers and weights: whole lives of weight 1, and what is left as a lighter one."""
    whole = np.floor(count + 1e-9)
    rest = count - whole
    each = np.arange(len(count))
    some, part = whole > 0, rest > 1e-9
    row = np.concatenate([each[some], each[part]])
    number = np.concatenate([whole[some], np.ones(part.sum())]).astype(np.int64)
    return row, number, np.concatenate([np.ones(some.sum()), rest[part]])


def _watching(time: Floats, weight: Floats, left: Floats) -> tuple[Floats, Floats]:
    """Kaplan-Meier of watching times: `left` is 1 for lives that left still good."""
    ages, which = np.unique(time, return_inverse=True)
    gone = np.bincount(which, weights=weight * left, minlength=len(ages))
    every = np.bincount(which, weights=weight, minlength=len(ages))
    at_risk = every[::-1].cumsum()[::-1]
    # failures at the same age come first
    at_risk = np.maximum(at_risk - (every - gone), gone)
    with np.errstate(all="ignore"):
        stay = np.cumprod(np.where(gone > 0.0, 1.0 - gone / at_risk, 1.0))
    left_by = np.asarray(1.0 - stay, dtype=np.float64)
    return ages[gone > 0.0], left_by[gone > 0.0]


def find_scheme(rows: Rows) -> Scheme:
    """The watch of the one group in `rows`."""
    known = ~np.isnan(rows.known_by)
    failed = ~np.isnan(rows.high)
    ages = np.stack([rows.entry, rows.low, rows.high, rows.known_by])
    unit = float(np.nanmax(ages))
    ages = ages / unit
    good, good_count = _merge(
        ages[:2, ~failed & (rows.low > rows.entry)],
        rows.count[~failed & (rows.low > rows.entry)],
    )
    if good.shape[1] > _PAIRS:
        rounded = np.ceil(good * _ROUND) / _ROUND
        rounded[0] = np.floor(good[0] * _ROUND) / _ROUND
        good, good_count = _merge(rounded, good_count)
    bad, bad_count = _merge(ages[:, failed], rows.count[failed])
    row, number, good_weight = _whole_lives(good_count)
    good = good[:, row]
    bad_row, bad_number, bad_weight = _whole_lives(bad_count)
    bad = np.repeat(bad[:, bad_row], bad_number, axis=1)
    bad_weight = np.repeat(bad_weight, bad_number)
    looks, look_ages = _find_looks(ages, failed & ~known, ~failed)
    ordinary = np.isnan(bad[3])
    time = np.concatenate([good[1] - good[0], (bad[2] - bad[0])[ordinary]])
    weight = np.concatenate([number * good_weight, bad_weight[ordinary]])
    left = np.concatenate([np.ones(good.shape[1]), np.zeros(int(ordinary.sum()))])
    left_at, left_by = _watching(time, weight, left)
    return Scheme(
        unit=unit,
        good_entry=good[0],
        good_end=good[1],
        good_number=number,
        good_weight=good_weight,
        fail_entry=bad[0],
        fail_low=bad[1],
        fail_high=bad[2],
        fail_known=bad[3],
        fail_weight=bad_weight,
        left=left_at,
        left_by=left_by,
        longest=float(time.max()) if len(left_at) else np.inf,
        looks=looks,
        look_ages=look_ages,
    )


def _find_looks(ages: Floats, ordinary: Mask, good: Mask) -> tuple[Looks, Floats]:
    entry, low, high = ages[0], ages[1], ages[2]
    closed = ordinary & (high > low)
    if not closed.any():
        return "own", np.zeros(0)
    if bool((low == entry)[closed].all()) and bool(closed[ordinary].all()):
        return "one", np.zeros(0)
    ends = np.unique(np.concatenate([high[closed], low[closed & (low > entry)]]))
    kinds = np.unique(ages[1:3, closed], axis=1).shape[1]
    # k intervals between readouts have at most k + 1 ends, those of looks of their own have 2 k
    shared = len(ends) <= kinds + 1 and bool(closed[ordinary].all()) and len(ends) <= _READOUTS
    if not shared:
        return "own", np.zeros(0)
    return "shared", np.unique(np.concatenate([ends, low[good & (low > entry)]]))
