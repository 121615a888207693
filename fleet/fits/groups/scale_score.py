"""Do the lives of one group depend on something known of each? A score test. METHODS: pooling."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.fits.groups.life_ages import Ages
from fleet.fits.groups.scale_model import Columns, ScaleModel
from fleet.fits.groups.watched_anew import Watch, draw_anew, watch_of
from fleet.fits.rows import Floats, Ints, Rows
from fleet.fits.solver.batch import maxima
from fleet.fits.suspects.fit_near import fit_near

ENOUGH = 100.0  # failures from which the chi-square serves; our own rule
_CLEARLY_NOT = 0.25  # a chi-square p-value above this is not looked at more closely
_FIRST, _MORE = 199, 400  # draws, and how many more where the first say that it is rare
_RARE = 0.1
_ROWS = 200_000  # drawn rows fitted at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """The test. `by`: chi_square, or drawn_anew where failures are few."""

    statistic: float
    freedom: int
    p_value: float
    by: str


def score(rows: Rows, columns: Floats, *, seed: int) -> Score | str:
    """Whether log scales depend on `columns` (lives, width); the reason where that has no answer.

    ``U' V^-1 U`` with U the slope of the Weibull log-likelihood along the columns at the fit
    without them, V the observed information less what the fitted shape and scale take away (Rao
    1948, Proc. Cambridge Phil. Soc. 44:50-57). With fewer than 100 failures its distribution is
    that over fleets drawn from the fit without the columns, each life watched as it was.
    """
    fit = maxima(rows)
    if not fit.exists[0] or not fit.scale[0] > 0.0:
        return str(fit.reason[0] or "there is no Weibull fit to hold the lives against")
    x = _spread_out(columns)
    if x.shape[1] == 0:
        return "there is nothing to tell the lives apart by"
    ages = Ages(rows.entry, rows.low, rows.high, rows.known_by)
    shape, log_scale = float(fit.shape[0]), float(np.log(fit.scale[0]))
    found = chi_square_score(ages, rows.count, x, shape, log_scale)
    failures = float(rows.count[~np.isnan(rows.high)].sum())
    if found is None or failures >= ENOUGH or found.p_value > _CLEARLY_NOT:
        return found or "the lives tell nothing of it"
    watch, rng = watch_of(rows), np.random.default_rng(seed)
    drawn = _drawn(watch, x, shape, log_scale, _FIRST, rng)
    if len(drawn) < _FIRST // 2:
        return "most fleets drawn anew have no Weibull fit: too few failures"
    seen = _slope(ages, rows.count, x, shape, log_scale)
    again = _by_draws(seen, drawn)
    if again.p_value > _RARE:
        return again
    return _by_draws(seen, np.concatenate([drawn, _drawn(watch, x, shape, log_scale, _MORE, rng)]))


def dummies(values: pl.Series) -> Floats:
    """A column for each value but the first."""
    codes = values.cast(pl.String).rank("dense").to_numpy().astype(np.int64) - 1
    width = int(codes.max(initial=0))
    return np.asarray(codes[:, None] == np.arange(1, width + 1), dtype=np.float64)


def _by_draws(seen: Floats, drawn: Floats) -> Score:
    """The slope against its spread over the drawn fleets, and how many of them go as far."""
    spread = np.cov(drawn, rowvar=False).reshape(len(seen), len(seen))
    inverse = np.linalg.pinv(spread, rcond=1e-9, hermitian=True)
    size = np.einsum("di,ij,dj->d", drawn, inverse, drawn)
    statistic = float(seen @ inverse @ seen)
    p = float((1 + (size >= statistic * (1.0 - 1e-9)).sum()) / (1 + len(size)))
    freedom = int(np.linalg.matrix_rank(spread, tol=1e-9 * np.abs(spread).max(), hermitian=True))
    return Score(statistic=statistic, freedom=freedom, p_value=p, by="drawn_anew")


def _spread_out(columns: Floats) -> Floats:
    """Centred and scaled columns, those that are constant left out."""
    centred = columns - columns.mean(axis=0)
    size = centred.std(axis=0)
    some = size > 1e-9 * np.maximum(np.abs(columns).max(axis=0, initial=0.0), 1e-300)
    return np.asarray(centred[:, some] / size[some])


def _model(ages: Ages, count: Floats, x: Floats) -> ScaleModel:
    return ScaleModel(ages, count, Columns(matrix=np.column_stack([np.ones(len(count)), x])))


def _null(x: Floats, shape: float, log_scale: float) -> Floats:
    return np.concatenate([[log_scale], np.zeros(x.shape[1]), [np.log(shape)]])


def _slope(ages: Ages, count: Floats, x: Floats, shape: float, log_scale: float) -> Floats:
    """Slope along the columns, free of the fitted shape and for the failures there were: with few
    of them both vary widely from fleet to fleet.
    """
    slope = _model(ages, count, x).slopes(_null(x, shape, log_scale))[1][1:-1]
    failures = float(count[~np.isnan(ages.high)].sum())
    return np.asarray(slope / (shape * np.sqrt(max(failures, 1.0))))


def chi_square_score(
    ages: Ages, count: Floats, x: Floats, shape: float, log_scale: float
) -> Score | None:
    """The score statistic, or the likelihood ratio where the likelihood is not concave at the fit
    without the columns, as it need not be where they matter much.
    """
    model = _model(ages, count, x)
    theta = _null(x, shape, log_scale)
    value, slope, bend = model.slopes(theta)
    curve, axes = np.linalg.eigh(-bend)
    told = np.abs(curve) > 1e-9 * np.abs(curve).max(initial=0.0)
    freedom = int(told.sum()) - 2
    if freedom < 1:
        return None
    if (curve[told] > 0.0).all():
        along = axes[:, told].T @ slope
        statistic = float((along**2 / curve[told]).sum())
    else:
        statistic = max(2.0 * (model.maximum(theta).value - value), 0.0)
    return Score(
        statistic=statistic,
        freedom=freedom,
        p_value=_chi_square(statistic, freedom),
        by="chi_square",
    )


def _chi_square(statistic: float, freedom: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(freedom, statistic))


def _drawn(
    watch: Watch, x: Floats, shape: float, log_scale: float, draws: int, rng: np.random.Generator
) -> Floats:
    """Slopes (fleets, columns) of fleets drawn without a dependence, each at its own fit."""
    lives, count, out = len(x), watch.rows.count, [np.zeros((0, x.shape[1]))]
    at_once = max(1, _ROWS // max(lives, 1))
    while draws > 0:
        now = min(draws, at_once)
        many = draw_anew(watch, shape, log_scale, now, rng)
        shapes, scales = fit_near(_stacked(many, count), shape)
        there = np.flatnonzero(np.isfinite(scales))
        slopes = [
            _slope(
                Ages(*(age[d] for age in many)),
                count,
                x,
                float(shapes[d]),
                float(scales[d]),
            )
            for d in there
        ]
        out.append(np.array(slopes).reshape(len(there), x.shape[1]))
        draws -= now
    return np.concatenate(out)


def _stacked(ages: Ages, count: Floats) -> Rows:
    draws, lives = ages.low.shape
    starts: Ints = np.arange(draws + 1, dtype=np.int64) * lives
    flat = [age.ravel() for age in ages]
    return Rows(
        keys=pl.DataFrame({"_": np.arange(draws)}), starts=starts, entry=flat[0], low=flat[1],
        high=flat[2], known_by=flat[3], count=np.tile(count, draws),
    )  # fmt: skip
