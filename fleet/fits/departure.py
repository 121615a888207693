"""How far the lives are from the Weibull, and how often chance alone goes as far.

METHODS: departure.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.families.scheme import Scheme, find_scheme
from fleet.fits.families.simulate import draw_lives
from fleet.fits.rows import Floats, Mask, Rows, cut_rows, with_keys
from fleet.fits.solver.batch import maxima

# Ages at which failures seen are held against failures expected: those by which these shares of
# the failures of the drawn fleets have happened.
_SHARES = np.array([0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95])
FEWEST = 5.0  # failures below which nothing can be said
_ROWS = 150_000  # drawn rows fitted at once
_MOST = 4_000_000  # drawn rows in all; larger fleets get fewer draws
_LEAST_DRAWS = 99
DRAWS = 499
SEED = 20_240_229

DEPARTURE = pl.Schema(
    {
        "lives": pl.Float64,
        "failures": pl.Float64,
        "departure": pl.Float64,  # 1 is what chance alone does on average
        "p_value": pl.Float64,
        "draws": pl.Int64,  # drawn fleets that a Weibull could be fitted to
        "at_age": pl.Float64,  # where the departure is largest for what chance does there
        "excess": pl.Float64,  # failures by that age over those expected
        "reason": pl.String,  # why there is no p-value
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Fitted:
    """Weibulls of many groups: ``H(t) = exp(shape * (log t - log_scale))``."""

    shape: Floats
    log_scale: Floats
    exists: Mask


def fit_draws(rows: Rows) -> Fitted:
    """The Weibull of each group of `rows`, all at once."""
    fits = maxima(rows)
    with np.errstate(invalid="ignore", divide="ignore"):
        log_scale = np.log(fits.scale)
    return Fitted(shape=fits.shape, log_scale=log_scale, exists=fits.exists)


def excess_failures(rows: Rows, fit: Fitted, ages: Floats) -> tuple[Floats, Floats]:
    """Failures by each age over those the fit expects, (groups, ages), and their size by chance.

    With H the fitted cumulative hazard and ``g(t) = min(H(t), H(age))`` a life adds
    ``g(entry) - g(low)``, one more for an exact failure by `age`, the share ``(g(high) - g(low))
    / (exp(H(high) - H(low)) - 1)`` for an interval, and less the same of (entry, known_by] for a
    life known only because it failed. It is the slope of the log-likelihood as the hazard up to
    `age` is raised, so that its mean is 0 when the fit is true. The size by chance is the root of
    the summed squares of what lives add, over all ages: one number a group.
    """
    group = np.repeat(np.arange(rows.groups), np.diff(rows.starts))
    shape, scale = fit.shape[group], fit.log_scale[group]

    def hazard(at: Floats) -> Floats:
        return np.asarray(np.exp(shape * (np.log(at) - scale)))

    with np.errstate(all="ignore"):
        entry, low, high, known = (
            hazard(v) for v in (rows.entry, rows.low, rows.high, rows.known_by)
        )
        exact = rows.high == rows.low
        closed = np.where(rows.high > rows.low, 1.0 / np.expm1(high - low), 0.0)
        window = np.where(np.isnan(known), 0.0, 1.0 / np.expm1(known - entry))
    high, known = np.where(closed > 0.0, high, low), np.where(window > 0.0, known, entry)
    out, squares = np.zeros((rows.groups, len(ages))), np.zeros(rows.groups)
    some = np.diff(rows.starts) > 0
    first = rows.starts[:-1][some]
    with np.errstate(all="ignore"):  # draws without a fit come out as NaN and are left out
        for j, age in enumerate(ages):
            top = np.exp(fit.shape * (np.log(age) - fit.log_scale))[group]
            at_entry, at_low = np.minimum(entry, top), np.minimum(low, top)
            value = at_entry - at_low + (exact & (rows.low <= age))
            value += closed * (np.minimum(high, top) - at_low)
            value -= window * (np.minimum(known, top) - at_entry)
            out[some, j] = np.add.reduceat(rows.count * value, first)
            squares[some] += np.add.reduceat(rows.count * value**2, first)
    return out, np.sqrt(squares)


def departure(
    lives: pl.DataFrame, *, by: Sequence[str] = (), draws: int = DRAWS, seed: int = SEED
) -> pl.DataFrame:
    """How often a departure as large would be seen if each group followed its Weibull.

    `draws` fleets are drawn from the fitted Weibull, watched as the lives were (see `scheme`),
    and fitted again; the same seed gives the same answer, whatever the unit of age, the order of
    rows or how they are counted. Returns `by` + DEPARTURE, one row per group. `p_value` counts
    the observed fleet among the drawn ones, so it is never 0. Null with a `reason` where there
    is no fit or fewer than 5 failures. Raises BadFrame, BadInput.
    """
    if draws < 19:
        raise BadInput(f"{draws} draws say nothing; ask for at least 19, better for {DRAWS}")
    rows = cut_rows(lives, by)
    found = [_one(rows.take(g, g + 1), draws, seed) for g in range(rows.groups)]
    return with_keys(rows.keys, pl.DataFrame(found, schema=DEPARTURE, orient="row"))


def _one(rows: Rows, draws: int, seed: int) -> dict[str, float | int | str | None]:
    failures = float(rows.count[~np.isnan(rows.high)].sum())
    blank: dict[str, float | int | str | None] = dict.fromkeys(DEPARTURE.names())
    blank |= {"lives": float(rows.count.sum()), "failures": failures}
    if failures < FEWEST - 1e-9:
        return blank | {
            "reason": f"fewer than {FEWEST:g} failures: whether they follow a Weibull cannot be "
            "told"
        }
    fit = fit_draws(rows)
    if not fit.exists[0]:
        return blank | {"reason": "there is no Weibull fit to hold the lives against"}
    scheme = find_scheme(rows)
    draws = max(min(draws, _MOST // max(scheme.size, 1)), min(draws, _LEAST_DRAWS))
    ages, drawn = _drawn_excess(scheme, fit, draws, seed)
    if len(drawn) < 0.5 * draws or len(ages) == 0:
        return blank | {"reason": "most fleets drawn anew have no Weibull fit: too few failures"}
    seen, noise = excess_failures(rows, fit, ages * scheme.unit)
    gap = np.concatenate([seen / noise[:, None], drawn])
    spread = gap.std(axis=0)
    with np.errstate(all="ignore"):
        apart = np.where(spread > 1e-9, (gap - gap.mean(axis=0)) / spread, 0.0)
    size = np.sqrt((apart**2).mean(axis=1))
    worst = int(np.abs(apart[0]).argmax())
    return blank | {
        "departure": float(size[0]),
        # draws that tie but for rounding count as being as large
        "p_value": float((size >= size[0] * (1.0 - 1e-9)).mean()),
        "draws": len(drawn),
        "at_age": float(ages[worst] * scheme.unit),
        "excess": float(seen[0, worst]),
    }


def _drawn_excess(scheme: Scheme, fit: Fitted, draws: int, seed: int) -> tuple[Floats, Floats]:
    """Ages at which to compare, and the excess of each drawn fleet there over its size by
    chance, (draws, ages).
    """
    rng = np.random.default_rng(seed)
    shape, log_scale = float(fit.shape[0]), float(fit.log_scale[0] - np.log(scheme.unit))
    at_once = max(1, _ROWS // max(scheme.size, 1))
    ages, parts = np.zeros(0), []
    while draws > 0:
        rows, failed = draw_lives(scheme, shape, log_scale, min(at_once, draws), rng)
        if len(ages) == 0 and len(failed):
            ages = np.unique(np.quantile(failed, _SHARES))
        again = fit_draws(rows)
        excess, noise = excess_failures(rows, again, ages)
        sound = again.exists & np.isfinite(excess).all(axis=1) & (noise > 0.0)
        parts.append(excess[sound] / noise[sound, None])
        draws -= at_once
    return ages, np.concatenate(parts)
