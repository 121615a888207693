"""How many times as long one group lasts as another. METHODS: life-ratio."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.groups.life_ages import Ages, ages_of
from fleet.fits.groups.scale_model import Best, Columns, Groups, ScaleModel, open_ended
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Floats, Ints, check_lives, group_codes, group_sum, with_keys
from fleet.fits.weibull import check_level
from fleet.frames import LIFE

MOST_GROUPS = 40
_PROFILED = 200_000  # rows x groups up to which limits are profile-likelihood limits


def life_ratios(
    lives: pl.DataFrame, by: Sequence[str], *, level: float = 0.95, nameless: str | None = None
) -> pl.DataFrame:
    """Ratio of each group's life to that of the largest group, one shape for all.

    With one shape the ratio is the same for the characteristic life, B10 and every other age.
    Columns: `by`, lives, failures, ratio, ratio_low, ratio_high; the group compared with comes
    first, its ratio 1 without limits. Null: no estimate, or unbounded on that side. Limits are
    profile-likelihood limits, in large tables (when failures are many) Wald's. The group called
    `nameless`, and groups with few failures, are not measured by. No rows with
    more than 40 groups, fewer than two, or no failure. Raises BadFrame, BadInput.
    """
    check_level(level)
    check_lives(lives, by)
    pooled = lives.group_by([*by, *(c for c in LIFE if c != "count")], maintain_order=True)
    table = pooled.agg(pl.col("count").sum())
    keys, codes = group_codes(table, by)
    groups = keys.height
    ages, count = ages_of(table), table["count"].to_numpy()
    failures = group_sum(codes, count * ~np.isnan(ages.high), groups)
    if not 2 <= groups <= MOST_GROUPS or failures.max() <= 0.0:
        return _frame(keys.clear(), np.zeros((5, 0)))
    first = _measure(keys, group_sum(codes, count, groups), failures, nameless)
    order = [first, *(g for g in range(groups) if g != first)]
    drop = 0.5 * chi_square_1(level)
    if len(codes) * groups <= _PROFILED:
        found = _profiled(ages, count, codes, order, drop)
    else:
        found = _by_curvature(ages, count, codes, order, drop)
    values = np.array([(1.0, np.nan, np.nan), *found]).T
    totals = np.stack([group_sum(codes, count, groups), failures])[:, order]
    return _frame(keys[order], np.concatenate([totals, values]))


def _measure(keys: pl.DataFrame, lives: Floats, failures: Floats, nameless: str | None) -> int:
    """The largest group among those with enough failures, a fourth of the most at least."""
    worth = np.where(failures >= 0.25 * failures.max(), lives, 0.0)
    if nameless is not None:
        named = keys.select(pl.all_horizontal(pl.all().cast(pl.String) != nameless))
        worth = np.where(named.to_series().fill_null(value=True).to_numpy(), worth, 0.0)
    return int(np.lexsort((-np.arange(len(worth)), failures, worth))[-1])


def _profiled(
    ages: Ages, count: Floats, codes: Ints, order: list[int], drop: float
) -> list[tuple[float, float, float]]:
    design = np.ones((len(codes), len(order)))
    for k, g in enumerate(order[1:], start=1):
        design[:, k] = codes == g
    model = ScaleModel(ages, count, Columns(matrix=design))
    best = model.maximum()
    return [_ratio(model, best, k, drop) for k in range(1, len(order))]


def _ratio(model: ScaleModel, best: Best, k: int, drop: float) -> tuple[float, float, float]:
    if open_ended(best, 0):  # the scale of all runs to infinity: no ratio either
        return np.nan, np.nan, np.nan
    ends = model.limits(best, k, drop)
    low, high = (np.nan if v is None else np.exp(v) for v in ends)
    return np.nan if open_ended(best, k) else np.exp(best.theta[k]), low, high


def _by_curvature(
    ages: Ages, count: Floats, codes: Ints, order: list[int], drop: float
) -> list[tuple[float, float, float]]:
    """Wald's limits: each group has a log scale of its own, ratios are differences of them."""
    model = ScaleModel(ages, count, Groups(group=codes, width=len(order)))
    best = model.maximum()
    first, *others = order
    none = (np.nan, np.nan, np.nan)
    out = []
    for g in others:
        both = best.covariance[np.ix_([first, g], [first, g])]
        variance = both[0, 0] + both[1, 1] - 2.0 * both[0, 1]
        half, apart = np.sqrt(2.0 * drop * variance), best.theta[g] - best.theta[first]
        known = not (open_ended(best, first, whole=True) or open_ended(best, g, whole=True))
        middle, low, high = (float(np.exp(apart + sign * half)) for sign in (0.0, -1.0, 1.0))
        out.append((middle, low, high) if known and variance > 0.0 else none)
    return out


def ratio_limits(
    model: ScaleModel, best: Best, k: int, drop: float, *, profiled: bool
) -> tuple[float | None, float | None]:
    """Limits of the log of a ratio: by profile, or Wald's where that takes too long."""
    if profiled or open_ended(best, k):
        return model.limits(best, k, drop)
    half = float(np.sqrt(2.0 * drop * best.covariance[k, k]))
    return float(best.theta[k]) - half, float(best.theta[k]) + half


def _frame(keys: pl.DataFrame, values: Floats) -> pl.DataFrame:
    names = ("lives", "failures", "ratio", "ratio_low", "ratio_high")
    columns = {n: pl.Series(v, dtype=pl.Float64) for n, v in zip(names, values, strict=True)}
    return with_keys(keys, pl.DataFrame(columns).fill_nan(None))
