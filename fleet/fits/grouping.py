"""Which rows of a table belong together, by any columns, without copying the table."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl

_WIDEST = 50_000_000  # combinations of values that may be counted in an array


def group_order(
    lives: pl.DataFrame, by: Sequence[str]
) -> tuple[pl.DataFrame, npt.NDArray[np.int64], npt.NDArray[np.uint32] | None]:
    """Group keys in order of first appearance, where each group starts, and the order of rows.

    The order puts groups together and keeps rows within a group; None where the rows are in that
    order already. Without `by` there is one group.
    """
    if not by:
        return pl.DataFrame({"_": [0]}).select([]), np.array([0, lives.height]), None
    codes, size = _combined(lives, by)
    rows = lives.height
    first = np.full(size, rows)
    # of several rows with one code the last to be written, the first row, stays
    first[codes[::-1]] = np.arange(rows - 1, -1, -1)
    there = np.flatnonzero(first < rows)
    there = there[np.argsort(first[there])]
    rank = np.empty(size, dtype=np.int64)
    rank[there] = np.arange(len(there))
    codes = rank[codes]
    starts = np.concatenate(([0], np.cumsum(np.bincount(codes, minlength=len(there)))))
    keys = lives.select(by)[first[there]]
    if (codes[1:] >= codes[:-1]).all():
        return keys, starts, None
    # sixteen bits at a time: such numbers are put in order without comparisons
    order, digit = np.arange(rows, dtype=np.uint32), 0
    while digit == 0 or len(there) >> digit:
        part = ((codes >> digit) & 0xFFFF).astype(np.uint16)
        order = order[np.argsort(part[order], kind="stable")]
        digit += 16
    return keys, starts, order


def _combined(lives: pl.DataFrame, by: Sequence[str]) -> tuple[npt.NDArray[np.int64], int]:
    """One whole number a row, equal for rows that agree in every column, and how many there are."""
    codes, size = np.zeros(lives.height, dtype=np.int64), 1
    for column in by:
        # categories of their own: names must not outlive the call
        words = pl.Categorical(pl.Categories.random())
        own = lives[column].cast(pl.String).cast(words).to_physical()
        width = int(own.max() or 0) + 2  # type: ignore[arg-type]
        codes *= width
        codes += own.fill_null(width - 1).to_numpy()
        size *= width
        if size > _WIDEST:
            found, codes = np.unique(codes, return_inverse=True)
            size = len(found)
    return codes, size
