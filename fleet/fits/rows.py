"""Life tables on their way into a fit: checked, and cut into groups of neighbouring rows."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import polars as pl

from fleet.errors import BadFrame
from fleet.frames import LIFE, check_frame

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_ENTRY, _LOW, _HIGH, _KNOWN = (pl.col(c) for c in ("entry", "low", "high", "known_by"))

# What a row must not be, each with the words that follow "row N of the life table".
_FAULTS: tuple[tuple[pl.Expr, str], ...] = (
    (
        pl.any_horizontal(pl.col("entry", "low", "count").is_null()),
        "lacks its entry, low or count; fill it in",
    ),
    (pl.col("count") <= 0, "has a count that is not above 0; leave such rows out"),
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


def check_lives(lives: pl.DataFrame, by: Sequence[str]) -> None:
    """Raise BadFrame, naming the first faulty row, unless `lives` can be fitted by `by`."""
    check_frame(lives, LIFE, name="life")
    for column in by:
        if column not in lives.columns:
            have = ", ".join(c for c in lives.columns if c not in LIFE) or "none"
            raise BadFrame(
                f"the life table has no column {column} to group by; its group columns are {have}"
            )
        if column in LIFE:
            raise BadFrame(f"{column} is an age or a count; group by another column")
    faults = lives.select(
        when.fill_null(value=False).arg_max().alias(str(i)) for i, (when, _) in enumerate(_FAULTS)
    )
    found = lives.select(
        when.fill_null(value=False).any().alias(str(i)) for i, (when, _) in enumerate(_FAULTS)
    )
    for i, (_, words) in enumerate(_FAULTS):
        if found[str(i)][0]:
            raise BadFrame(f"row {faults[str(i)][0] + 1} of the life table {words}")


def group_codes(lives: pl.DataFrame, by: Sequence[str]) -> tuple[pl.DataFrame, Ints]:
    """One row per group in order of first appearance, and each life's group number.

    Without `by` there is always exactly one group, also when there are no lives.
    """
    if not by:
        return pl.DataFrame({"_": [0]}).select([]), np.zeros(lives.height, dtype=np.int64)
    keys = lives.select(by).unique(maintain_order=True)
    codes = lives.select(by).join(
        keys.with_row_index("_code"),
        on=list(by),
        how="left",
        nulls_equal=True,
        maintain_order="left",
    )
    return keys, codes["_code"].cast(pl.Int64).to_numpy()


def cut_rows(lives: pl.DataFrame, by: Sequence[str]) -> Rows:
    """Check `lives` and sort its rows by group; raises BadFrame."""
    check_lives(lives, by)
    keys, codes = group_codes(lives, by)
    groups = keys.height if by else 1
    order = np.argsort(codes, kind="stable")
    sizes = np.bincount(codes, minlength=groups)

    def column(name: str) -> Floats:
        return np.asarray(lives[name].fill_null(float("nan")).to_numpy()[order])

    return Rows(
        keys=keys,
        starts=np.concatenate(([0], np.cumsum(sizes))).astype(np.int64),
        entry=column("entry"),
        low=column("low"),
        high=column("high"),
        known_by=column("known_by"),
        count=column("count"),
    )


def group_sum(group: Ints, weights: Floats | Mask, groups: int) -> Floats:
    """Sum of `weights` over the members of each of `groups` groups."""
    return np.asarray(np.bincount(group, weights=weights, minlength=groups), dtype=np.float64)


def with_keys(keys: pl.DataFrame, values: pl.DataFrame) -> pl.DataFrame:
    """Group columns followed by `values`, one row per group."""
    return values if keys.width == 0 else keys.hstack(values)
