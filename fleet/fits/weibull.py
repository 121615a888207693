"""Weibull fits of every group of a life table. METHODS: weibull, existence, profile-limits."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.rows import Floats, cut_groups, with_keys
from fleet.fits.solver.batch import solve_all
from fleet.frames import FIT

HAZARDS = np.array([1.0, -np.log(0.9)])  # at the scale and at B10


def check_level(level: float) -> None:
    """Raise BadInput unless `level` is a confidence level."""
    if not 0.0 < level < 1.0:
        raise BadInput(f"the level {level:g} is no confidence level; give one between 0 and 1")


def fit_weibull(
    lives: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.95
) -> pl.DataFrame:
    """Maximum-likelihood Weibull fit of each group, with profile-likelihood limits.

    ``S(t) = exp(-(t / scale) ** shape)``; B10 is the age by which a tenth fails. `lives` has the
    columns of frames.LIFE and the group columns `by`; ages in any one unit, which `scale`, `b10`
    and the log-likelihood (of the density per unit of age) come back in. Returns `by` +
    frames.FIT, one row per group in order of first appearance. Where the likelihood has no
    maximum `exists` is false, `reason` says why and shape, scale and b10 are null; limits are
    given where the likelihood gives them. A null limit is unbounded (a lower one: down to 0).
    Raises BadFrame for a faulty row, BadInput for a level outside (0, 1).
    """
    check_level(level)
    cut = cut_groups(lives, by)
    fits = solve_all(cut, level, HAZARDS)
    columns = {
        "lives": pl.Series("lives", fits.lives),
        "failures": pl.Series("failures", fits.failures),
        "exists": pl.Series("exists", fits.exists),
        "reason": pl.Series("reason", fits.reason.tolist(), dtype=pl.String),
    }
    estimates = np.stack([fits.shape, fits.scale, fits.ages[1]])
    for suffix, found in (
        ("", estimates),
        ("_low", fits.limits[::2]),
        ("_high", fits.limits[1::2]),
    ):
        # what is NaN, infinite or 0 does not exist
        there = np.where(np.isfinite(found) & (found > 0.0), found, np.nan)
        for name, values in zip(("shape", "scale", "b10"), there, strict=True):
            columns[name + suffix] = _nullable(name + suffix, values)
    columns["log_likelihood"] = _nullable("log_likelihood", fits.value)
    return with_keys(cut.keys, pl.DataFrame([columns[name] for name in FIT]))


def _nullable(name: str, values: Floats) -> pl.Series:
    return pl.Series(name, values, nan_to_null=True)
