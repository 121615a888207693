"""The edge of the likelihood region, and what depends on both parameters. METHODS: region."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.rows import Floats, Rows, cut_rows
from fleet.fits.solver.careful import search
from fleet.fits.solver.slices import crossing, peak
from fleet.fits.weibull import HAZARDS, check_level, fit_weibull

_BLOCK = 2_000
_REACH = 5.0  # how far, in log shape, an open region is followed
_NEARLY_NONE = np.log(1e-9)  # cumulative hazard that stands for a scale at infinity


def weibull_region(
    lives: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.90, points: int = 180
) -> pl.DataFrame:
    """Points (shape, scale) on the edge of each group's likelihood region.

    On the edge twice the log-likelihood lies below its supremum by the chi-square quantile of
    `level` with ONE degree of freedom. The smallest (largest) value over the region of any
    function g(shape, scale) is then the lower (upper) profile-likelihood limit of g: a value is
    inside the interval when the largest log-likelihood among the parameters that give it is
    within that drop, that is when some point of the region gives it. A continuous g takes its
    extremes on the edge unless it has one inside.

    Returns `by` + shape, scale, open, in order around the region: about `points` rows per group,
    with the extremes of shape, scale and B10 among them. Where the region has no edge on some
    side it is cut off there and these rows have `open` true: the limit is unknown, not their
    value. Groups without information (no failure, an unlimited likelihood) have no rows.
    """
    check_level(level)
    if points < 16:
        raise BadInput(f"{points} points do not draw a region; ask for at least 16")
    rows = cut_rows(lives, by)
    parts, first = [], 0
    for block in rows.blocks(_BLOCK):
        if len(block.entry):
            parts.append(_edge(block, level, points).with_columns(pl.col("_group") + first))
        first += block.groups
    empty = pl.DataFrame(
        schema={"_group": pl.Int64, "shape": pl.Float64, "scale": pl.Float64, "open": pl.Boolean}
    )
    edge = pl.concat([empty, *parts])
    keys = rows.keys[edge["_group"].to_list()] if rows.keys.width else None
    edge = edge.drop("_group")
    return edge if keys is None else keys.hstack(edge)


def _edge(rows: Rows, level: float, points: int) -> pl.DataFrame:
    top, limits, ages = search(rows, level, HAZARDS)
    middle = np.log(top.shape)
    low = np.where(limits.low_open, np.maximum(limits.low, middle - _REACH), limits.low)
    high = np.where(limits.high_open, np.minimum(limits.high, middle + _REACH), limits.high)
    # even steps of the angle, so that points are dense where the edge turns back
    angle = np.pi * np.linspace(0.0, 1.0, points // 2)[:, None]
    steps = low + (high - low) * 0.5 * (1.0 - np.cos(angle))
    turns = np.concatenate([ages.low_log_shape, ages.high_log_shape])
    inside = (turns > low) & (turns < high)
    log_shape = np.sort(
        np.concatenate([steps, np.where(inside, turns, 0.5 * (low + high))]), axis=0
    )
    cut = top.terms.at(np.exp(log_shape))
    at = peak(cut)
    target = np.broadcast_to(limits.target, at.shape)
    upper = crossing(cut, at, target, np.ones(at.shape, dtype=bool))
    lower = crossing(cut, at, target, np.zeros(at.shape, dtype=bool))
    # once around: up along the small scales, back along the large ones
    log_shape = np.concatenate([log_shape, log_shape[::-1]])
    c = np.concatenate([upper, lower[::-1]])
    ends = np.zeros(c.shape, dtype=bool)
    half = len(upper)
    for row, side in ((0, limits.low_open), (-1, limits.low_open)):
        ends[row] |= side
    for row in (half - 1, half):
        ends[row] |= limits.high_open
    b = np.exp(log_shape)
    is_open = ends | np.isneginf(c)
    c = np.where(np.isneginf(c), _NEARLY_NONE, c)
    log_scale = np.clip(-c / b, -600.0, 600.0)
    keep = ~(top.unlimited | top.edges.no_failure | top.edges.all_before_look)
    group = np.broadcast_to(np.arange(top.terms.groups), c.shape)[:, keep]
    return pl.DataFrame(
        {
            "_group": group.T.ravel(),
            "shape": b[:, keep].T.ravel(),
            "scale": (top.terms.typical * np.exp(log_scale))[:, keep].T.ravel(),
            "open": is_open[:, keep].T.ravel(),
        }
    )


def _log_hazard(ages: Floats, shape: Floats | float, scale: Floats | float) -> Floats:
    return np.asarray(np.log(shape) - np.log(scale) + (shape - 1.0) * np.log(ages / scale))


def hazard_points(fit: Mapping[str, Any], region: pl.DataFrame, ages: Floats) -> pl.DataFrame:
    """Failure rate at each age with its profile-likelihood limits; ages above 0.

    `fit` is one row of fit_weibull, `region` the rows of weibull_region of the same group.
    Returns age, hazard, hazard_low, hazard_high (per unit of age); all but age null where the
    fit does not exist, a limit null where the region is open.
    """
    ages = np.asarray(ages, dtype=np.float64)
    if (ages <= 0.0).any():
        raise BadInput("failure rates are given at ages above 0")
    if not fit["exists"] or region.is_empty():
        nothing = pl.lit(None, dtype=pl.Float64)
        return pl.DataFrame({"age": ages}).with_columns(
            hazard=nothing, hazard_low=nothing, hazard_high=nothing
        )
    shape, scale, open_rows = (region[c].to_numpy()[:, None] for c in ("shape", "scale", "open"))
    rates = _log_hazard(ages[None, :], shape, scale)
    at = _log_hazard(ages, fit["shape"], fit["scale"])
    columns = {"age": ages, "hazard": np.exp(at)}
    each = np.arange(len(ages))
    for name, best in (("hazard_low", rates.argmin(axis=0)), ("hazard_high", rates.argmax(axis=0))):
        # an extreme on a cut-off side is where the cut happened to be, not a limit
        limit = np.where(open_rows[best, 0], np.nan, np.exp(rates[best, each]))
        columns[name] = limit
    return pl.DataFrame(columns).with_columns(pl.exclude("age").fill_nan(None))


def hazard_curve(
    lives: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.95, points: int = 60
) -> pl.DataFrame:
    """Failure rate by age of each group's Weibull fit, over the ages at which lives were watched.

    Returns `by` + age, hazard, hazard_low, hazard_high (per unit of age), supported (false where
    fewer lives are watched than a drawn curve needs). Groups without an estimate have no rows.
    """
    from fleet.fits.curves.support import watched

    fits = fit_weibull(lives, by=by, level=level)
    region = weibull_region(lives, by=by, level=level)
    seen = watched(lives, by)
    parts = []
    schema = {c: pl.Float64 for c in ("age", "hazard", "hazard_low", "hazard_high")}
    empty = pl.DataFrame(schema={**{c: lives.schema[c] for c in by}, **schema})
    empty = empty.with_columns(pl.lit(None, dtype=pl.Boolean).alias("supported"))
    for fit, span in zip(fits.iter_rows(named=True), seen.iter_rows(named=True), strict=True):
        if not fit["exists"]:
            continue
        own = region.filter(*(pl.col(c).eq_missing(fit[c]) for c in by))
        low, high = max(span["first"], span["last"] / 50.0), span["last"]
        rates = hazard_points(fit, own, np.linspace(low, high, points))
        supported = pl.col("age").is_between(span["supported_from"], span["supported_to"])
        named = [pl.lit(fit[c], dtype=lives.schema[c]).alias(c) for c in by]
        parts.append(rates.select(*named, pl.all(), supported.fill_null(False).alias("supported")))
    return pl.concat([empty, *parts])
