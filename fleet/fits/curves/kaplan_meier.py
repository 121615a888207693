"""Kaplan-Meier with delayed entry, all groups at once. METHODS: km."""

import numpy as np
import polars as pl

from fleet.fits.curves.support import Steps, enough_at_risk, risk_steps
from fleet.fits.roots import normal_quantile
from fleet.fits.rows import Floats, Ints, Mask
from fleet.fits.runs import Runs, first_of_runs

_POINT = ("age", "at_risk", "failures", "survival", "survival_low", "survival_high")


def kaplan_meier(lives: pl.DataFrame, *, level: float) -> pl.DataFrame:
    """Survival of each `_group` of exact and right-censored lives at every failure age.

    ``S(t) = prod over failure ages a <= t of (1 - d / n)``, d failures among the n lives with
    entry < a <= low (Kaplan and Meier 1958; delayed entry: Tsai, Jewell and Wang 1987).
    Greenwood's variance, limits on the log(-log) scale, Nelson-Aalen cumulative hazard. Returns
    _group + frames.CURVE, `collapsed` (S fell to 0 while others were still to be watched), `most`
    (ever at risk) and `gap_from`, `gap_to` (between which nobody was watched).
    Besides the failure ages each group has a first row where watching begins (S = 1, at_risk
    just after that age) and a last row where it ends.
    """
    steps = risk_steps(lives)
    starts = first_of_runs(steps.group)
    first, last = np.zeros(len(steps.age), dtype=bool), np.zeros(len(steps.age), dtype=bool)
    first[starts] = True
    last[np.append(starts, len(steps.age))[1:] - 1] = True
    most_of_group = np.maximum.reduceat(steps.after, starts) if len(starts) else steps.after
    kept = np.flatnonzero(first | last | (steps.failures > 0.0))
    begin, group, age = first[kept], steps.group[kept], steps.age[kept]
    d = np.where(begin, 0.0, steps.failures[kept])
    at_risk = np.where(begin, steps.after[kept], steps.at_risk[kept])
    runs = Runs(np.flatnonzero(begin), len(kept))
    n = np.maximum(at_risk, d)
    all_fail = (d > 0.0) & (d >= n * (1.0 - 1e-12))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(n > 0.0, d / n, 0.0)
        spread = np.where((d > 0.0) & ~all_fail, share / (n - d), 0.0)
    survival = runs.products(np.where(all_fail, 0.0, 1.0 - share))
    most = np.asarray(runs.each(most_of_group), dtype=np.float64)
    gone = survival == 0.0
    # after a fall to 0 nothing that follows can lift the curve again
    collapsed = gone & np.asarray(runs.each(_seen_after_zero(runs, gone)), dtype=bool)
    low, high = log_log_limits(survival, runs.sums(spread), level)
    values = (age, at_risk, d, survival, low, high)
    gap_from, gap_to = _first_gap(steps, starts, last)
    return pl.DataFrame(
        {
            "_group": group,
            **dict(zip(_POINT, values, strict=True)),
            "cumulative_hazard": runs.sums(share),
            "supported": enough_at_risk(at_risk, most) & ~collapsed,
            "collapsed": collapsed,
            "most": most,
            "gap_from": runs.each(gap_from),
            "gap_to": runs.each(gap_to),
        }
    ).with_columns(pl.col("survival_low", "survival_high").fill_nan(None))


def _first_gap(steps: Steps, starts: Ints, last: Mask) -> tuple[Floats, Floats]:
    """Ages between which nobody of a group was watched though some were later; NaN for none."""
    gap_from, gap_to = np.full(len(starts), np.nan), np.full(len(starts), np.nan)
    empty = np.flatnonzero((steps.after == 0.0) & ~last)[::-1]
    run = np.searchsorted(starts, empty, side="right") - 1
    gap_from[run], gap_to[run] = steps.age[empty], steps.age[empty + 1]
    return gap_from, gap_to


def _seen_after_zero(runs: Runs, gone: Mask) -> Mask:
    """Whether each run has more than one row where S is 0: something was watched after it fell."""
    if not len(runs.starts):
        return np.zeros(0, dtype=bool)
    return np.asarray(np.add.reduceat(gone.astype(np.int64), runs.starts) > 1)


def log_log_limits(survival: Floats, variance: Floats, level: float) -> tuple[Floats, Floats]:
    """Limits of S from the variance of log S, on the log(-log) scale; NaN where S is 0 or 1.

    ``S ** exp(+-z sqrt(variance) / log S)``.
    """
    z = normal_quantile(0.5 + level / 2.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        log_s = np.log(survival)
        defined = (survival > 0.0) & (survival < 1.0) & np.isfinite(variance)
        turn = np.exp(z * np.sqrt(variance) / np.abs(log_s))
        low, high = np.exp(log_s * turn), np.exp(log_s / turn)
    return np.where(defined, low, np.nan), np.where(defined, high, np.nan)


def with_limits(rows: pl.DataFrame, level: float) -> pl.DataFrame:
    """Columns survival_low and survival_high from `survival` and `_variance`; null for none."""
    survival = rows["survival"].fill_null(float("nan")).to_numpy()
    low, high = log_log_limits(survival, rows["_variance"].to_numpy(), level)
    return rows.with_columns(
        survival_low=pl.Series(low).fill_nan(None), survival_high=pl.Series(high).fill_nan(None)
    )
