"""Limits of a unit's chance and best age over a likelihood region, or over weighted draws.

The range of a quantity over the edge of the region is its profile-likelihood interval: chance
and best age both change one way with the scale, so their extremes lie on the edge. Draws give
weighted quantiles instead. Where a region has no edge on some side it is cut off there, and an
extreme found only where it was cut off is no limit: it is unknown.
"""

from collections.abc import Iterator

import numpy as np

from fleet.decisions.best_ages import Lives
from fleet.decisions.replace_age import BestOnce
from fleet.decisions.weibull_life import LARGEST, Floats, Whole, added_hazard

_TAIL = 0.05  # each side of the 90 % that decisions come with, for draws
_PAIRS = 2**17  # units times points handled at once: fits the processor's cache


def weighted_quantile(values: Floats, weights: Floats, share: float) -> Floats:
    """Smallest value in each row with at least `share` of the weight at or below it.

    `values` (rows, points), infinity allowed; `weights` (points), not negative, not all zero.
    """
    order = np.argsort(values, axis=1, kind="stable")
    reached = np.cumsum(weights[order], axis=1)
    place = np.argmax(reached >= share * reached[:, -1:] * (1.0 - 1e-12), axis=1)
    return np.take_along_axis(values, np.take_along_axis(order, place[:, None], axis=1), axis=1)[
        :, 0
    ]


def added_hazard_limits(
    points: Lives, estimate: Whole, age: Floats, until: Floats
) -> tuple[Floats, Floats]:
    """Limits of the cumulative hazard between two ages of each unit; NaN where unknown."""
    low, high = np.full(age.shape, np.nan), np.full(age.shape, np.nan)
    for units, span in _blocks(points, estimate):
        values = _differences(points.shape[span], points.scale[span], age[units], until[units])
        low[units], high[units] = _ends(values, points, span)
    return low, high


def _differences(shape: Floats, scale: Floats, age: Floats, until: Floats) -> Floats:
    """H(until) - H(age) of every unit (rows) with every point (columns).

    A plain difference: it loses until / (shape (until - age)) roundings, nothing to a limit, and
    takes a third of the time of `added_hazard`, which stands in where an exponential overflows.
    """
    if (shape * np.log(until.max() / scale)).max() > LARGEST:
        return added_hazard(shape, scale, age[:, None], until[:, None])
    offset = shape * np.log(scale)
    out = np.log(until)[:, None] * shape
    out -= offset
    np.exp(out, out=out)
    with np.errstate(divide="ignore"):
        before = np.log(age)[:, None] * shape
    before -= offset
    np.exp(before, out=before)
    out -= before
    return out


def best_age_limits(points: Lives, estimate: Whole, age: Floats) -> tuple[Floats, Floats]:
    """Limits of each unit's best age as seen from new: 0 for "at once", infinite for never, NaN
    where unknown.
    """
    low, high = np.full(age.shape, np.nan), np.full(age.shape, np.nan)
    for units, span in _blocks(points, estimate):
        best = BestOnce(wait=points.best.wait[span], now_until=points.best.now_until[span])
        if best.now_until.max() < 0:  # the same for every unit
            low[units], high[units] = _ends(best.wait[None, :], points, span)
            continue
        values = np.where(age[units, None] <= best.now_until[None, :], 0.0, best.wait[None, :])
        low[units], high[units] = _ends(values, points, span)
    return low, high


def _blocks(points: Lives, estimate: Whole) -> Iterator[tuple[Whole, slice]]:
    """Places of units with one estimate, a block at a time, and where its points lie."""
    order = np.argsort(estimate, kind="stable")
    numbers, starts = np.unique(estimate[order], return_index=True)
    ends = np.append(starts, order.size)[1:]
    first = np.searchsorted(points.estimate, numbers, side="left")
    last = np.searchsorted(points.estimate, numbers, side="right")
    for unit_from, unit_to, point_from, point_to in zip(starts, ends, first, last, strict=True):
        if point_to == point_from:
            continue
        step = max(1, _PAIRS // (point_to - point_from))
        for place in range(unit_from, unit_to, step):
            yield order[place : min(place + step, unit_to)], slice(point_from, point_to)


def _ends(values: Floats, points: Lives, span: slice) -> tuple[Floats, Floats]:
    if points.weight is not None:
        weight = points.weight[span]
        return (
            weighted_quantile(values, weight, _TAIL),
            weighted_quantile(values, weight, 1.0 - _TAIL),
        )
    low, high = values.min(axis=1), values.max(axis=1)
    if points.open is None or not points.open[span].any():
        return low, high
    closed = values[:, ~points.open[span]]
    return (
        np.where(closed.min(axis=1, initial=np.inf) <= low, low, np.nan),
        np.where(closed.max(axis=1, initial=-np.inf) >= high, high, np.nan),
    )
