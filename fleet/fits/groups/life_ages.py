"""The ages of a life table as arrays, for likelihoods of all its lives together."""

from typing import NamedTuple

import polars as pl

from fleet.fits.rows import Floats


class Ages(NamedTuple):
    """Entry, low, high and known_by of each life; NaN for null."""

    entry: Floats
    low: Floats
    high: Floats
    known_by: Floats


def ages_of(lives: pl.DataFrame) -> Ages:
    """Ages of lives with the columns of frames.LIFE."""
    names = ("entry", "low", "high", "known_by")
    return Ages(*(lives[c].fill_null(float("nan")).to_numpy() for c in names))
