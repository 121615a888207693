"""Other distributions for the same lives, by the same likelihood. METHODS: other-distributions."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl

from fleet.fits.families.exponential import EXPONENTIAL
from fleet.fits.families.hazard_model import HazardModel, LifeSums
from fleet.fits.families.limited_failure import LIMITED_FAILURE
from fleet.fits.families.lognormal import LOGNORMAL
from fleet.fits.families.maximise import Top, maximise
from fleet.fits.families.searches import Starts, best_of
from fleet.fits.families.share import share, share_limits
from fleet.fits.families.two_causes import TWO_CAUSES, TWO_KINDS
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Floats, Mask, Rows, cut_rows
from fleet.fits.solver.existence import find_edges
from fleet.fits.solver.terms import Terms
from fleet.fits.weibull import check_level, fit_weibull

_BLOCK = 30_000  # rows fitted at once
_SOMETHING = 1e-3  # a gain below which two parts are one
_NOTHING = 1e-6  # a gain in log-likelihood that is none

ALTERNATIVES = pl.Schema(
    {
        "distribution": pl.String,
        "lives": pl.Float64,
        "failures": pl.Float64,
        "exists": pl.Boolean,
        "reason": pl.String,  # why it has no fit
        "log_likelihood": pl.Float64,  # of the density per unit of age
        "parameters": pl.Int64,
        "aic": pl.Float64,
        "aic_few": pl.Float64,  # AIC corrected for few failures
        "b10": pl.Float64,  # null too where fewer than one in ten ever fail
        "share_that_can_fail": pl.Float64,
        "share_low": pl.Float64,
        "share_high": pl.Float64,
        "p_value": pl.Float64,  # exponential: that age does not matter; limited: that all can fail
    }
)
_RUNS_OFF = "the likelihood keeps rising towards lives that all end at one age, or never"
_NO_FIT = {
    "lognormal": _RUNS_OFF,
    "exponential": _RUNS_OFF,
    "limited_failure": "all can fail: no smaller share describes the lives better",
    "two_causes": "a second cause has nothing left to explain, or only failures at one age",
    "two_kinds": "a second kind has nothing left to explain, or only failures at one age",
}
DISTRIBUTIONS = (
    "weibull",
    "lognormal",
    "exponential",
    "limited_failure",
    "two_causes",
    "two_kinds",
)


def alternatives(
    lives: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.95, mixtures: bool = True
) -> pl.DataFrame:
    """Weibull, lognormal, exponential, limited failure and mixtures of each group of `lives`.

    ``aic = 2 k - 2 log L`` with k parameters; ``aic_few = aic + 2 k (k + 1) / (d - k - 1)`` with
    d failures, null where d <= k + 1 (Hurvich and Tsai 1989, Biometrika 76:297-307, with failures
    in the place of observations). `level` is that of the limits of the share. Without `mixtures`
    the two of them are left out. Returns `by` + ALTERNATIVES, in the order of DISTRIBUTIONS
    within each group. Raises BadFrame, BadInput.
    """
    check_level(level)
    rows = cut_rows(lives, by)
    weibull = fit_weibull(lives, by=by).drop(by)
    parts, first = [], 0
    for block in rows.blocks(_BLOCK):
        some = weibull[first : first + block.groups]
        parts.append(
            _block(block, some, level, mixtures=mixtures).with_columns(pl.col("_g") + first)
        )
        first += block.groups
    if not parts:
        return lives.select(by).clear().hstack(pl.DataFrame(schema=ALTERNATIVES))
    every = pl.concat(parts)
    keys = rows.keys[every["_g"].to_list()] if rows.keys.width else None
    every = every.select(ALTERNATIVES.names())
    return every if keys is None else keys.hstack(every)


def _block(rows: Rows, weibull: pl.DataFrame, level: float, *, mixtures: bool) -> pl.DataFrame:
    """ALTERNATIVES and the number of the group, _g, of each group of `rows`."""
    sums = LifeSums(rows)
    start = Starts(sums, weibull)
    frames = [
        _weibull(weibull),
        _tabulate(sums, LOGNORMAL, _lognormal(sums, start), weibull),
        _exponential(sums, start, weibull),
        _limited(sums, start, weibull, level),
    ]
    if mixtures:
        for model, starts in ((TWO_CAUSES, start.causes()), (TWO_KINDS, start.kinds())):
            top = best_of(sums, model, starts)
            # two parts that fall together are the Weibull again
            more = top.inside & (top.value > _everybody(weibull) + _SOMETHING)
            top = Top(theta=top.theta, value=top.value, inside=more)
            frames.append(_tabulate(sums, model, top, weibull))
    each = [frame.with_row_index("_g") for frame in frames]
    order = {name: i for i, name in enumerate(DISTRIBUTIONS)}
    return pl.concat(each).sort("_g", pl.col("distribution").replace_strict(order))


def _edge(rows: Rows) -> Floats:
    """What a Weibull or a lognormal reaches as its spread runs to 0 or without end."""
    edges = find_edges(rows, Terms(rows))
    return np.maximum(edges.at_zero, edges.at_infinity)


def _lognormal(sums: LifeSums, start: Starts) -> Top:
    spread = np.log(1.2 / start.b)
    middle = -start.c / start.b - 0.4 / start.b
    wide = np.stack([np.clip(middle, -50.0, 50.0), spread])
    top = best_of(sums, LOGNORMAL, [wide, wide + np.array([[0.5], [0.7]])])
    above = top.value > _edge(sums.rows) + 1e-9
    return Top(theta=top.theta, value=top.value, inside=top.inside & above)


def _exponential(sums: LifeSums, start: Starts, weibull: pl.DataFrame) -> pl.DataFrame:
    top = maximise(sums, EXPONENTIAL, np.log(start.failed)[None])
    frame = _tabulate(sums, EXPONENTIAL, top, weibull)
    both = frame["exists"] & weibull["exists"]
    gain = 2.0 * (weibull["log_likelihood"] - frame["log_likelihood"])
    return frame.with_columns(p_value=_tail(gain, both.to_numpy(), 1.0))


def _limited(sums: LifeSums, start: Starts, weibull: pl.DataFrame, level: float) -> pl.DataFrame:
    top = best_of(sums, LIMITED_FAILURE, start.limited())
    everybody = _everybody(weibull)
    ordinary = sums.total(sums.rows.count * (~np.isnan(sums.rows.high))) - sums.total(
        sums.rows.count * (~np.isnan(sums.rows.known_by))
    )
    blind = ordinary < 1e-9
    all_can = top.inside & (top.value <= everybody + _NOTHING) | ~top.inside
    top = Top(theta=top.theta, value=top.value, inside=top.inside & ~all_can & ~blind)
    low, high = _share_limits(sums, top, level)
    known = top.inside & np.isfinite(everybody)
    with np.errstate(invalid="ignore"):
        gain = pl.Series(np.where(known, 2.0 * (top.value - everybody), 0.0))
    own = np.where(
        blind,
        "failures known only because they happened do not say what share can fail",
        _NO_FIT["limited_failure"],
    )
    frame = _tabulate(sums, LIMITED_FAILURE, top, weibull, reasons=own)
    shares = {
        "share_that_can_fail": share(top.theta[2]),
        "share_low": low,
        "share_high": high,
    }
    return frame.with_columns(
        p_value=_tail(gain, known, 0.5),
        **{
            name: pl.Series(np.where(top.inside, v, np.nan)).fill_nan(None)
            for name, v in shares.items()
        },
    )


def _everybody(weibull: pl.DataFrame) -> Floats:
    return np.asarray(weibull["log_likelihood"].fill_null(-np.inf).to_numpy(), dtype=np.float64)


def _share_limits(sums: LifeSums, top: Top, level: float) -> tuple[Floats, Floats]:
    """Limits of the share where there is one, NaN elsewhere."""
    which = np.flatnonzero(top.inside)
    sides = np.full((2, sums.groups), np.nan)
    if len(which):
        own = Top(theta=top.theta[:, which], value=top.value[which], inside=top.inside[which])
        sides[:, which] = share_limits(sums.some(which), own, 0.5 * chi_square_1(level))
    return sides[0], sides[1]


def _tail(gain: pl.Series, known: Mask, half: float) -> pl.Series:
    """Chance of a gain as large: chi-square with one degree of freedom, `half` of it at a border.

    Where the true share lies on its border 1, the gain is 0 half of the time (Self and Liang
    1987, Journal of the American Statistical Association 82:605-610).
    """
    from scipy.special import erfc

    size = np.maximum(gain.fill_null(np.nan).to_numpy(), 0.0)
    with np.errstate(all="ignore"):
        chance = half * erfc(np.sqrt(0.5 * size))
    return pl.Series(np.where(known, chance, np.nan)).fill_nan(None)


def _age_at(sums: LifeSums, model: HazardModel, top: Top, chance: float) -> Floats:
    """The age by which `chance` have failed, by halving; NaN where that is never."""
    low, high = np.full(sums.groups, -300.0), np.full(sums.groups, 300.0)
    wanted = -np.log1p(-chance)
    with np.errstate(all="ignore"):
        never = ~(model.cumulative(high, top.theta) > wanted)
        for _ in range(80):
            middle = 0.5 * (low + high)
            above = model.cumulative(middle, top.theta) > wanted
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return np.where(never, np.nan, np.exp(high) * sums.typical)


def _tabulate(
    sums: LifeSums,
    model: HazardModel,
    top: Top,
    weibull: pl.DataFrame,
    *,
    reasons: Any = None,  # noqa: ANN401 - an array of texts
) -> pl.DataFrame:
    b10 = _age_at(sums, model, top, 0.1)
    fallback = np.full(sums.groups, _NO_FIT[model.name])
    own = pl.Series(fallback if reasons is None else reasons, dtype=pl.String)
    # what keeps a Weibull from being fitted keeps the others too
    shared = pl.when(weibull["exists"]).then(own).otherwise(pl.coalesce(weibull["reason"], own))
    some = pl.Series(top.inside)
    known = {"log_likelihood": top.value, "b10": b10}
    frame = pl.DataFrame(
        {
            "lives": weibull["lives"],
            "failures": weibull["failures"],
            "exists": some,
            **{
                name: pl.Series(np.where(top.inside, v, np.nan)).fill_nan(None)
                for name, v in known.items()
            },
        }
    ).with_columns(reason=pl.when(some).then(None).otherwise(shared))
    return _finish(frame, model.name, model.parameters)


def _weibull(weibull: pl.DataFrame) -> pl.DataFrame:
    reason = pl.when("exists").then(None).otherwise("reason").alias("reason")
    kept = weibull.select("lives", "failures", "exists", reason, "log_likelihood", "b10")
    return _finish(kept, "weibull", 2)


def _finish(frame: pl.DataFrame, name: str, parameters: int) -> pl.DataFrame:
    spare = pl.col("failures") - parameters - 1
    aic = 2.0 * parameters - 2.0 * pl.col("log_likelihood")
    few = pl.when(spare > 0).then(aic + 2.0 * parameters * (parameters + 1) / spare)
    nothing = pl.lit(None, dtype=pl.Float64)
    extra = ("share_that_can_fail", "share_low", "share_high", "p_value")
    return frame.with_columns(
        distribution=pl.lit(name),
        parameters=pl.lit(parameters, dtype=pl.Int64),
        aic=aic,
        aic_few=few,
        **dict.fromkeys(extra, nothing),
    ).select(pl.col(c).cast(t) for c, t in ALTERNATIVES.items())
