"""Weibull fits of every group of a life table. METHODS: weibull, existence, profile-limits."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.batch import solve_all
from fleet.fits.rows import cut_groups, with_keys
from fleet.frames import FIT

HAZARDS = np.array([1.0, -np.log(0.9)])  # at the scale and at B10
_MAY_BE_0 = ("lives", "failures", "log_likelihood")


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
    names = ("shape", "scale", "b10")
    low, high = fits.limits[0::2], fits.limits[1::2]
    columns: dict[str, Any] = {
        "lives": fits.lives,
        "failures": fits.failures,
        "exists": fits.exists,
        "reason": pl.Series(fits.reason.tolist(), dtype=pl.String),
    }
    for name, values, lows, highs in zip(
        names, (fits.shape, fits.scale, fits.ages[1]), low, high, strict=True
    ):
        columns |= {name: values, f"{name}_low": lows, f"{name}_high": highs}
    columns["log_likelihood"] = fits.value
    return with_keys(cut.keys, pl.DataFrame(columns, schema=FIT).with_columns(_known()))


def _known() -> list[pl.Expr]:
    """Null for what does not exist: NaN, infinite, or (an age or a shape) 0."""
    numbers = [pl.col(name) for name, dtype in FIT.items() if dtype == pl.Float64]
    above_0 = [c for c in numbers if c.meta.output_name() not in _MAY_BE_0]
    return [
        *(pl.when(c.is_finite() & (c > 0.0)).then(c) for c in above_0),
        pl.when(pl.col("log_likelihood").is_finite()).then(pl.col("log_likelihood")),
    ]
