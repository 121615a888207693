"""Life tables on their way into a fit: checked, and cut into groups of neighbouring rows."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np
import numpy.typing as npt
import polars as pl

from fleet.errors import BadFrame
from fleet.fits.grouping import group_order
from fleet.frames import LIFE, check_frame

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_ENTRY, _LOW, _HIGH, _KNOWN = (pl.col(c) for c in ("entry", "low", "high", "known_by"))

_SCAN = 1_000_000  # rows looked at together

# What a row must not be, each with the words that follow "row N of the life table".
_FAULTS: tuple[tuple[pl.Expr, str], ...] = (
    (
        pl.any_horizontal(pl.col("entry", "low", "count").is_null()),
        "lacks its entry, low or count; fill it in",
    ),
    (pl.col("count") <= 0, "has a count that is not above 0; leave such rows out"),
    (
        ~pl.col("count").is_between(1e-9, 1e12),
        "has a count below 1e-9 or above 1e12; give the number of lives, or leave the row out",
    ),
    (
        pl.col("count") < 1e-12 * pl.col("count").max(),
        "has a count a million million times smaller than another; leave it out",
    ),
    (
        pl.any_horizontal(
            (c > 1e100) | ((c < 1e-100) & (c > 0)) for c in (_ENTRY, _LOW, _HIGH, _KNOWN)
        ),
        "has an age above 1e100 or below 1e-100; give ages in another unit",
    ),
    (_ENTRY < 0, "has a negative entry age; ages start at 0"),
    (_LOW < _ENTRY, "ends before it came under observation (low < entry); swap or correct them"),
    (_HIGH < _LOW, "has high < low; swap or correct them"),
    (
        (_HIGH == _LOW) & (_LOW == _ENTRY),
        "failed at the very age at which it came under observation; widen low and high or leave "
        "it out",
    ),
    (
        _KNOWN.is_not_null() & _HIGH.is_null(),
        "is known only because it failed (known_by) but has no failure age (high); give high or "
        "leave known_by empty",
    ),
    (_KNOWN < _HIGH, "failed after the age by which it must have failed (known_by < high)"),
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Rows:
    """Rows of a life table sorted by group; group g owns rows starts[g] to starts[g + 1].

    `keys` has one row per group, in order of first appearance. `high` and `known_by` are NaN
    where they are null.
    """

    keys: pl.DataFrame
    starts: Ints
    entry: Floats
    low: Floats
    high: Floats
    known_by: Floats
    count: Floats

    @property
    def groups(self) -> int:
        """How many groups there are."""
        return len(self.starts) - 1

    @property
    def windows(self) -> Ints:
        """How many rows of each group have an interval or a truncation closed on both sides."""
        closed = (self.high > self.low) | ~np.isnan(self.known_by)
        return np.diff(np.concatenate(([0], np.cumsum(closed)))[self.starts])

    def rows(self, groups: Ints) -> "Rows":
        """The rows of some groups, in the order given."""
        place, starts = _places(self.starts, groups)
        return Rows(
            keys=self.keys[groups] if self.keys.width else self.keys,
            starts=starts,
            entry=self.entry[place],
            low=self.low[place],
            high=self.high[place],
            known_by=self.known_by[place],
            count=self.count[place],
        )

    def take(self, first: int, last: int) -> "Rows":
        """The groups from `first` up to but not including `last`."""
        cut = slice(self.starts[first], self.starts[last])
        return Rows(
            keys=self.keys[first:last],
            starts=self.starts[first : last + 1] - self.starts[first],
            entry=self.entry[cut],
            low=self.low[cut],
            high=self.high[cut],
            known_by=self.known_by[cut],
            count=self.count[cut],
        )

    def blocks(self, size: int) -> list["Rows"]:
        """Runs of whole groups with about `size` rows each: small enough for the cache."""
        cuts = [0]
        while cuts[-1] < self.groups:
            reach = int(np.searchsorted(self.starts, self.starts[cuts[-1]] + size, "right")) - 1
            cuts.append(max(cuts[-1] + 1, min(reach, self.groups)))
        return [self.take(a, b) for a, b in pairwise(cuts)]


class Grouped(Protocol):
    """Rows in groups, however they are kept."""

    @property
    def starts(self) -> Ints:
        """Where each group starts, and where the last one ends."""

    @property
    def windows(self) -> Ints:
        """How many rows of each group have an interval or a truncation closed on both sides."""

    def rows(self, groups: Ints) -> Rows:
        """The rows of some groups, in the order given."""


def _places(starts: Ints, groups: Ints) -> tuple[Ints, Ints]:
    """Where the rows of some groups are, and where each group starts among them."""
    sizes = np.diff(starts)[groups]
    own = np.concatenate(([0], np.cumsum(sizes)))
    return np.repeat(starts[groups] - own[:-1], sizes) + np.arange(own[-1]), own


def check_lives(lives: pl.DataFrame, by: Sequence[str]) -> None:
    """Raise BadFrame, naming the first faulty row, unless `lives` can be fitted by `by`."""
    _check(lives, by)


def _check(lives: pl.DataFrame, by: Sequence[str]) -> Mask:
    """The same; returns which rows have an interval or a truncation closed on both sides."""
    closed = _scan(lives) if all(lives.schema.get(c) == t for c, t in LIFE.items()) else None
    if closed is None:
        check_frame(lives, LIFE, name="life")
    for column in by:
        if column not in lives.columns:
            have = ", ".join(c for c in lives.columns if c not in LIFE) or "none"
            raise BadFrame(
                f"the life table has no column {column} to group by; its group columns are {have}"
            )
        if column in LIFE:
            raise BadFrame(f"{column} is an age or a count; group by another column")
    if closed is None:
        _name_the_fault(lives)
        raise BadFrame("the life table has a row that is no life; check its ages and counts")
    return closed


def _name_the_fault(lives: pl.DataFrame) -> None:
    for when, words in _FAULTS:
        found = when.fill_null(value=False)
        row = lives.select(found.arg_max(), found.any().alias("any")).row(0)
        if row[1]:
            raise BadFrame(f"row {row[0] + 1} of the life table {words}")


def _scan(lives: pl.DataFrame) -> Mask | None:
    """Which rows have a closed interval or truncation; None where a row is faulty."""
    closed, smallest, largest = [], np.inf, 0.0
    for part in lives.iter_slices(_SCAN) if lives.height > _SCAN else (lives,):
        entry, low, high, known, count = (part[c].to_numpy() for c in LIFE)
        failed, only = ~np.isnan(high), ~np.isnan(known)
        late = high > low
        # comparisons with NaN are false
        good = (entry >= 0.0) & (low >= entry) & (low < np.inf)
        good &= (count >= 1e-9) & (count <= 1e12)
        for age in (entry, low, high, known):
            good &= ~((age > 1e100) | ((age < 1e-100) & (age > 0.0)))
        smallest = min(smallest, count.min(initial=np.inf))
        largest = max(largest, count.max(initial=0.0))
        good &= ~failed | (late & (high < np.inf)) | ((high == low) & (low > entry))
        good &= ~only | ((known >= high) & (known < np.inf))
        told = len(part) - part["high"].null_count(), len(part) - part["known_by"].null_count()
        if not good.all() or told != (failed.sum(), only.sum()):
            return None
        closed.append(late | only)
    if smallest < 1e-12 * largest:
        return None
    return np.concatenate(closed)


def group_codes(lives: pl.DataFrame, by: Sequence[str]) -> tuple[pl.DataFrame, Ints]:
    """One row per group in order of first appearance, and each life's group number.

    Without `by` there is always exactly one group, also when there are no lives.
    """
    keys, starts, order = group_order(lives, by)
    codes = np.repeat(np.arange(len(starts) - 1), np.diff(starts))
    if order is None:
        return keys, codes
    own = np.empty_like(codes)
    own[order] = codes
    return keys, own


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Cut:
    """A checked life table and which of its rows make up each group; nothing is copied yet.

    `windows` counts the rows of each group whose interval or truncation is closed on both sides.
    """

    keys: pl.DataFrame
    starts: Ints
    windows: Ints
    order: npt.NDArray[np.uint32] | None
    lives: pl.DataFrame

    @property
    def groups(self) -> int:
        """How many groups there are."""
        return len(self.starts) - 1

    def rows(self, groups: Ints) -> Rows:
        """The rows of some groups, in the order given."""
        if len(groups) and (np.diff(groups) == 1).all() and self.order is None:
            starts = self.starts[groups[0] : groups[-1] + 2] - self.starts[groups[0]]
            part = self.lives.slice(int(self.starts[groups[0]]), int(starts[-1]))
        else:
            place, starts = _places(self.starts, groups)
            part = self.lives[place if self.order is None else self.order[place]]
        entry, low, high, known, count = (
            part[c].to_numpy() for c in ("entry", "low", "high", "known_by", "count")
        )
        return Rows(
            keys=self.keys[groups] if self.keys.width else self.keys,
            starts=starts,
            entry=entry,
            low=low,
            high=high,
            known_by=known,
            count=count,
        )


def cut_groups(lives: pl.DataFrame, by: Sequence[str]) -> Cut:
    """Check `lives` and find its groups; raises BadFrame."""
    closed = _check(lives, by)
    keys, starts, order = group_order(lives, by)
    if order is not None:
        closed = closed[order]
    before = np.concatenate(([0], np.cumsum(closed)))
    return Cut(
        keys=keys,
        starts=starts,
        windows=np.diff(before[starts]),
        order=order,
        lives=pl.DataFrame([lives[c] for c in LIFE]).rechunk(),
    )


def cut_rows(lives: pl.DataFrame, by: Sequence[str]) -> Rows:
    """Check `lives` and sort its rows by group; raises BadFrame."""
    cut = cut_groups(lives, by)
    return cut.rows(np.arange(cut.groups))


def group_sum(group: Ints, weights: Floats | Mask, groups: int) -> Floats:
    """Sum of `weights` over the members of each of `groups` groups."""
    return np.asarray(np.bincount(group, weights=weights, minlength=groups), dtype=np.float64)


def with_keys(keys: pl.DataFrame, values: pl.DataFrame) -> pl.DataFrame:
    """Group columns followed by `values`, one row per group."""
    return values if keys.width == 0 else keys.hstack(values)
