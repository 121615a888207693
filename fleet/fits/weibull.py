"""Weibull fits of every group of a life table. METHODS: weibull, existence, profile-limits."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.limits import AgeLimits, ShapeLimits, age_limits, shape_limits
from fleet.fits.profile import Peak, find_peak
from fleet.fits.reasons import reasons
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Floats, Mask, Rows, cut_rows, group_sum, with_keys
from fleet.frames import FIT

_BLOCK = 8_000  # rows per block: its sums stay in the processor's cache
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
    rows = cut_rows(lives, by)
    parts = [_fit_block(block, level) for block in rows.blocks(_BLOCK)]
    values = pl.concat(parts) if parts else pl.DataFrame(schema=FIT)
    return with_keys(rows.keys, values)


def solve(rows: Rows, level: float) -> tuple[Peak, ShapeLimits, AgeLimits]:
    """Maximum and limits of each group of `rows`."""
    drop = 0.5 * chi_square_1(level)
    top = find_peak(rows, drop)
    limits = shape_limits(top, drop)
    return top, limits, age_limits(top, limits, HAZARDS)


def _totals(rows: Rows) -> tuple[Floats, Floats]:
    group = np.repeat(np.arange(rows.groups), np.diff(rows.starts))
    failed = ~np.isnan(rows.high)
    return (
        group_sum(group, rows.count, rows.groups),
        group_sum(group, rows.count * failed, rows.groups),
    )


def _fit_block(rows: Rows, level: float) -> pl.DataFrame:
    lives, failures = _totals(rows)
    if len(rows.entry) == 0:
        return _nothing(lives, failures)
    top, limits, ages = solve(rows, level)
    exists, some = top.exists, ~top.unlimited & ~top.edges.all_before_look
    shaped = some & ~top.edges.no_failure
    with np.errstate(all="ignore"):
        low, high = (top.terms.typical * np.exp(v) for v in (ages.low, ages.high))
        at = top.terms.typical * np.exp((np.log(HAZARDS)[:, None] - top.c) / top.shape)
        shape_low, shape_high = np.exp(limits.low), np.exp(limits.high)
    columns: dict[str, Any] = {
        "lives": lives,
        "failures": failures,
        "exists": exists,
        "reason": reasons(top, limits, ages, failures),
        "shape": _known(top.shape, exists),
        "shape_low": _known(shape_low, shaped & ~limits.low_open),
        "shape_high": _known(shape_high, shaped & ~limits.high_open),
        "scale": _known(at[0], exists),
        "scale_low": _known(low[0], some),
        "scale_high": _known(high[0], some),
        "b10": _known(at[1], exists),
        "b10_low": _known(low[1], some),
        "b10_high": _known(high[1], some),
        "log_likelihood": pl.Series(np.where(exists, top.value, np.nan)).fill_nan(None),
    }
    return pl.DataFrame(columns, schema=FIT)


def _known(values: Floats, known: Mask) -> pl.Series:
    """Values with null where they are not known, not finite, or 0."""
    ok = known & np.isfinite(values) & (values > 0.0)
    return pl.Series(np.where(ok, values, np.nan)).fill_nan(None)


def _nothing(lives: Floats, failures: Floats) -> pl.DataFrame:
    none = {name: [None] * len(lives) for name in FIT}
    given = {
        "lives": lives,
        "failures": failures,
        "exists": [False] * len(lives),
        "reason": ["there are no lives"] * len(lives),
    }
    return pl.DataFrame({**none, **given}, schema=FIT)
