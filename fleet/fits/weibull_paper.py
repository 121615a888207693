"""Points and line of a plot on which Weibull lives lie straight. METHODS: weibull-paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from fleet.fits.curve import curve
from fleet.fits.curves.curve_notes import age_words
from fleet.fits.region import weibull_region
from fleet.fits.rows import Floats
from fleet.fits.weibull import fit_weibull

_STEPS = 60
_MARGIN = 1.3  # the line goes this factor beyond the points on both sides
_TRIFLE = 0.005  # a share failed before watching began that no eye sees

PAPER = pl.Schema(
    {
        "age": pl.Float64,
        "log_age": pl.Float64,
        "log_cumulative_hazard": pl.Float64,  # log(-log(1 - share_failed))
        "share_failed": pl.Float64,
        "share_low": pl.Float64,  # null: no limit on that side
        "share_high": pl.Float64,
        "supported": pl.Boolean,
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Paper:
    """`points` of the curve and `line` of the fit, both `by` + PAPER; `notes` in words."""

    points: pl.DataFrame
    line: pl.DataFrame
    notes: tuple[str, ...]


def weibull_paper(
    lives: pl.DataFrame,
    *,
    by: Sequence[str] = (),
    level: float = 0.95,
    unit: str | None = None,
) -> Paper:
    """The curve without a distribution beside the Weibull fit, log age against log hazard.

    A point stands at each age with failures, half way down the step the curve takes there (at
    its foot for Turnbull's estimate), with the curve's own limits just after it. Where nobody
    was watched from new, or failures are known only because they happened, the curve says
    nothing of what came before or of how many fail; the fit lends that, and a note says so.
    The line has the profile-likelihood limits of the share failed. `unit` of the ages is for the
    notes. Raises BadFrame, BadInput.
    """
    steps = curve(lives, by=by, level=level, unit=unit)
    fits = fit_weibull(lives, by=by, level=level)
    region = weibull_region(lives, by=by, level=level)
    notes, points, lines = list(steps.notes), [], []
    empty = pl.DataFrame(schema={**{c: lives.schema[c] for c in by}, **PAPER})
    for fit in fits.iter_rows(named=True):
        own = [pl.col(c).eq_missing(fit[c]) for c in by]
        some, note = _points(lives.filter(*own), steps.points.filter(*own), fit, unit)
        if note:
            who = " ".join(f"{c} {fit[c]}" for c in by) or "all lives"
            notes.append(f"The points of {who} {note}")
        if some.is_empty():
            continue
        named = [pl.lit(fit[c], dtype=lives.schema[c]).alias(c) for c in by]
        points.append(some.select(*named, *PAPER.names()))
        if fit["exists"]:
            ages = some["age"].to_numpy()
            line = _line(fit, region.filter(*own), ages.min(), ages.max())
            lines.append(line.select(*named, *PAPER.names()))
    return Paper(
        points=pl.concat([empty, *points]), line=pl.concat([empty, *lines]), notes=tuple(notes)
    )


def _points(
    lives: pl.DataFrame, steps: pl.DataFrame, fit: dict[str, Any], unit: str | None
) -> tuple[pl.DataFrame, str | None]:
    exact = lives.filter(
        pl.col("known_by").is_not_null() | (pl.col("high") > pl.col("low"))
    ).is_empty()
    before = pl.col("survival").shift(1, fill_value=1.0)
    middle = 0.5 * (before + pl.col("survival")) if exact else pl.col("survival")
    inside = (pl.col("failures") > 0) & (pl.col("age") > 0)
    marked = steps.with_columns(
        share_failed=1.0 - middle,
        share_low=1.0 - pl.col("survival_high"),
        share_high=1.0 - pl.col("survival_low"),
    ).filter(inside)
    start, last = float(steps["age"].min() or 0.0), float(steps["age"].max() or 0.0)  # type: ignore[arg-type]
    only = lives.filter(pl.col("high").is_not_null(), pl.col("known_by").is_null()).is_empty()
    note = None
    shares = ("share_failed", "share_low", "share_high")
    if fit["exists"] and not marked.is_empty() and (only or start > 0.0):
        log_at = fit["shape"] * np.log(np.array([max(start, 1e-300), last]) / fit["scale"])
        first, final = (float(-np.expm1(-np.exp(v))) for v in log_at)
        first = first if start > 0.0 else 0.0
        whole = final - first if only else 1.0 - first
        marked = marked.with_columns((first + whole * pl.col(c)).alias(c) for c in shares)
        trifling = not only and first < _TRIFLE
        note = (
            None
            if trifling
            else "hold only for lives that "
            + ("fail by the last age watched" if only else f"reach {age_words(start, unit)}")
            + "; they are drawn from where the fitted line has got to, so look at their slope."
        )
    within = pl.col("share_failed").is_between(0.0, 1.0, closed="none")
    bounded = [
        pl.when(pl.col(c).is_between(0.0, 1.0, closed="none")).then(pl.col(c)).alias(c)
        for c in shares[1:]
    ]
    return _with_logs(marked.filter(within).with_columns(bounded)), note


def _line(fit: dict[str, Any], region: pl.DataFrame, first: float, last: float) -> pl.DataFrame:
    ages = np.geomspace(first / _MARGIN, last * _MARGIN, _STEPS)
    shape, scale, is_open = (region[c].to_numpy() for c in ("shape", "scale", "open"))
    best = fit["shape"] * (np.log(ages) - np.log(fit["scale"]))
    columns = {"age": ages, "share_failed": _share(best)}
    if len(shape):
        every = shape[:, None] * (np.log(ages) - np.log(scale)[:, None])
        for name, at in (
            ("share_low", every.argmin(axis=0)),
            ("share_high", every.argmax(axis=0)),
        ):
            limit = _share(every[at, np.arange(len(ages))])
            # an extreme where the region was cut off is no limit
            columns[name] = np.where(is_open[at], np.nan, limit)
    else:
        columns |= {name: np.full(len(ages), np.nan) for name in ("share_low", "share_high")}
    within = pl.col("age").is_between(first, last)
    frame = pl.DataFrame(columns).with_columns(pl.exclude("age").fill_nan(None), supported=within)
    return _with_logs(frame)


def _share(log_hazard: Floats) -> Floats:
    return np.asarray(-np.expm1(-np.exp(log_hazard)))


def _with_logs(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.with_columns(
        log_age=pl.col("age").log(),
        log_cumulative_hazard=(-(-pl.col("share_failed")).log1p()).log(),
    ).select(pl.col(c).cast(t) for c, t in PAPER.items())


def plotting_positions(failures: int, lives: int) -> Floats:
    """Share failed at the i-th of `failures`, ``(i - 0.3) / (lives + 0.4)``.

    The median-rank approximation (Benard and Bos-Levenbach 1953), for lives that all outlast the
    last failure or fail. NIST/SEMATECH e-Handbook 8.2.2.1 plots with it.
    """
    return np.asarray((np.arange(1, failures + 1) - 0.3) / (lives + 0.4))


def straight_line(ages: Floats, shares: Floats) -> tuple[float, float]:
    """Intercept and slope of log10(-log(1 - share)) on log10(age) by least squares.

    A drawing aid only: the fit is never taken from it, as it weighs all points alike.
    """
    x, y = np.log10(ages), np.log10(-np.log1p(-shares))
    slope = float(((x - x.mean()) * (y - y.mean())).sum() / ((x - x.mean()) ** 2).sum())
    return float(y.mean() - slope * x.mean()), slope
