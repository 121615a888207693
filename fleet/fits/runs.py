"""Sums and products over runs of neighbouring rows, one run per group, all groups at once."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from fleet.fits.rows import Floats, Ints

_Scan = Callable[[Floats], Floats]


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
        return self.scan(values, lambda table: table.cumsum(axis=1), neutral=0.0)

    def products(self, values: Floats) -> Floats:
        """Running product of each run."""
        return self.scan(values, lambda table: table.cumprod(axis=1), neutral=1.0)

    def each(self, per_run: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
        """One value of each run, for all its rows."""
        return np.repeat(per_run, np.diff(np.append(self.starts, self.rows)))
