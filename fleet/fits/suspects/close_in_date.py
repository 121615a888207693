"""Failures that fall together on the calendar rather than in age. METHODS: close-in-date."""

from collections.abc import Sequence
from itertools import starmap

import numpy as np
import polars as pl

from fleet.fits.rows import Floats, Ints
from fleet.frames import check_frame

# One row a failure whose date is known well; days.
DATED = pl.Schema(
    {
        "start": pl.Float64,  # day (of any era) on which the parts were new
        "age": pl.Float64,  # at failure
        "youngest": pl.Float64,  # ages between which its failure would have been known
        "oldest": pl.Float64,
    }
)
CLOSE = pl.Schema(
    {
        "dated": pl.Int64,  # failures with a date known well
        "together": pl.Int64,  # most of them within `window` days
        "from_day": pl.Float64,  # first day of that window, as `start` counts
        "p_value": pl.Float64,
        "reason": pl.String,  # why there is none
    }
)
WINDOW = 90.0  # days; our own rule
FEWEST = 4
_DRAWS = 999
_MOST = 300  # failures; beyond it pairs take too long
_SWEEPS = 12
_AT_ONCE = 100  # swaps
_SEED = 90


def close_in_date(
    failures: pl.DataFrame, by: Sequence[str], *, window: float = WINDOW
) -> pl.DataFrame:
    """Whether failures of each group crowd on the calendar more than their ages make them.

    `by` + DATED in, `by` + CLOSE out. Were age alone at work, any of the group's machines could
    have failed at any of the ages its machines failed at, so far as it would have been seen:
    ages are exchanged between machines, each kept within youngest and oldest of its own (chains
    of allowed swaps, as for quasi-independent truncated data: Efron and Petrosian 1999, JASA
    94:824-834, and Tsai 1990, Biometrika 77:169-177; from memory), and the p-value is the share
    of exchanges in which as many failures fall within `window` days. Machines made within one
    `window` fail together in date when they fail together in age: then there is no p-value.
    """
    check_frame(failures, DATED, name="dated failures")
    parts = failures.partition_by(list(by), maintain_order=True, as_dict=True)
    rows = list(starmap(lambda key, part: (*key, *_one(part, window)), parts.items()))
    schema = {**{c: failures.schema[c] for c in by}, **CLOSE}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _one(
    part: pl.DataFrame, window: float
) -> tuple[int, int | None, float | None, float | None, str | None]:
    start, age, youngest, oldest = (part[c].to_numpy() for c in DATED)
    n = len(start)
    if n < FEWEST:
        return n, None, None, None, f"fewer than {FEWEST} failures with a date known well"
    if n > _MOST:
        return n, None, None, None, f"more than {_MOST} failures"
    date = start + age
    together = int(_most(date[None, :], window)[0])
    first = float(date[_counts(date[None, :], window)[0].argmax()])
    if np.ptp(start) <= window:
        return n, together, first, None, "all were made at about the same time"
    dealt = _exchanged(start, age, youngest, oldest)
    as_many = int((_most(start + dealt, window) >= together).sum())
    return n, together, first, (1 + as_many) / (1 + _DRAWS), None


def _counts(dates: Floats, window: float) -> Floats:
    """Failures in the window that begins with each failure, (draws, failures)."""
    after = dates[:, None, :] - dates[:, :, None]
    return np.asarray(((after >= 0.0) & (after <= window)).sum(axis=2))


def _most(dates: Floats, window: float) -> Ints:
    """Most failures within a window, (draws,)."""
    ordered = np.sort(dates, axis=1)
    most = np.ones(len(dates), dtype=np.int64)
    more = np.arange(len(dates))
    for apart in range(1, dates.shape[1]):
        within = (ordered[more, apart:] - ordered[more, :-apart]) <= window
        more = more[within.any(axis=1)]
        if not len(more):
            break
        most[more] += 1
    return most


def _exchanged(start: Floats, age: Floats, youngest: Floats, oldest: Floats) -> Floats:
    """Ages after many allowed swaps, (draws, failures), one chain a draw."""
    rng = np.random.default_rng(_SEED)
    n, first = len(age), len(age) * np.arange(_DRAWS)
    ages = np.tile(age, _DRAWS)
    low, high = np.minimum(youngest, age), np.maximum(oldest, age)
    swaps = _SWEEPS * n
    for done in range(0, swaps, _AT_ONCE):
        pairs = rng.integers(n, size=(min(_AT_ONCE, swaps - done), 2, _DRAWS))
        # what each may take, looked up for many swaps at once
        for (i, j), (low_i, low_j), (high_i, high_j) in zip(
            pairs + first, low[pairs], high[pairs], strict=True
        ):
            at_i, at_j = ages[i], ages[j]
            ok = (at_j >= low_i) & (at_j <= high_i) & (at_i >= low_j) & (at_i <= high_j)
            ages[i], ages[j] = np.where(ok, at_j, at_i), np.where(ok, at_i, at_j)
    return ages.reshape(_DRAWS, n)
