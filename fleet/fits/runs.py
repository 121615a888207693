"""Sums and products over runs of neighbouring rows, one run per group, all groups at once."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from fleet.fits.rows import Floats, Ints

_Scan = Callable[[Floats], Floats]
_Bits = npt.NDArray[np.uint64]


def sort_keys(group: Ints, age: Floats) -> _Bits:
    """Whole numbers in the order of (group, age), equal where both are equal.

    The bits of a number >= 0 sort like the number. Zeros they all end in are cut off; where
    group and age still do not fit into one word, ages are numbered first.
    """
    bits = (age + 0.0).view(np.uint64)
    together = int(np.bitwise_or.reduce(bits)) if len(bits) else 0
    idle = (together & -together).bit_length() - 1 if together else 0
    highest = int(group.max()) if len(group) else 0
    width = (together >> idle).bit_length()
    if width + highest.bit_length() > 64:
        order = np.argsort(bits)
        new = np.concatenate(([0], np.diff(bits[order]) != 0)).astype(np.uint64)
        bits = np.empty_like(bits)
        bits[order] = np.cumsum(new, dtype=np.uint64)
        idle, width = 0, len(bits).bit_length()
    return (group.astype(np.uint64) << np.uint64(width)) | (bits >> np.uint64(idle))


def first_of_runs(values: npt.NDArray[np.generic]) -> Ints:
    """Where each run of equal values starts."""
    if not len(values):
        return np.zeros(0, dtype=np.int64)
    new = np.ones(len(values), dtype=bool)
    new[1:] = values[1:] != values[:-1]
    return np.flatnonzero(new)


class Runs:
    """Rows in runs that begin at `starts`; scans begin anew in each, whatever stands before.

    Runs of similar length are laid side by side, so that a run's numbers are the same alone and
    among thousands.
    """

    def __init__(self, starts: Ints, rows: int) -> None:
        self.starts = starts
        sizes = np.diff(np.append(starts, rows))
        self.rows = rows
        width = np.ceil(np.log2(np.maximum(sizes, 1))).astype(np.int64)
        self.blocks = []
        for power in np.unique(width):
            which = np.flatnonzero(width == power)
            own = sizes[which]
            begin = np.cumsum(own) - own
            place = np.arange(int(own.sum()))
            within = place - np.repeat(begin, own)
            long = int(own.max(initial=0))
            flat = np.repeat(np.arange(len(which)) * long, own) + within
            self.blocks.append((np.repeat(starts[which], own) + within, flat, len(which), long))

    def scan(self, values: Floats, how: _Scan, *, neutral: float) -> Floats:
        """Running `how` (along the second axis) of each run; `neutral` fills behind short ones."""
        out = np.empty(self.rows)
        for place, flat, runs, long in self.blocks:
            table = np.full(runs * long, neutral)
            table[flat] = values[place]
            out[place] = how(table.reshape(runs, long)).ravel()[flat]
        return out

    def sums(self, values: Floats) -> Floats:
        """Running sum of each run."""
        return self.scan(values, lambda table: np.cumsum(table, axis=1), neutral=0.0)

    def products(self, values: Floats) -> Floats:
        """Running product of each run."""
        return self.scan(values, lambda table: np.cumprod(table, axis=1), neutral=1.0)

    def each(self, per_run: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
        """One value of each run, for all its rows."""
        return np.repeat(per_run, np.diff(np.append(self.starts, self.rows)))
