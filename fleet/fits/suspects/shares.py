"""How much of the variation of life lies between models, between batches, and in chance.

METHODS: shares-of-variation.
"""

import numpy as np
import polars as pl

from fleet.fits.rows import Floats
from fleet.fits.suspects.draws import Together, limits_of

SHARES = pl.Schema(
    {
        "parts": pl.String,
        "model": pl.String,  # null: all models together
        "part_of_life": pl.String,  # model, batch or chance (position: made elsewhere)
        "share": pl.Float64,
        "share_low": pl.Float64,
        "share_high": pl.Float64,
    }
)
_SPREAD_OF_LOG_LIFE = np.pi**2 / 6.0  # variance of log T of a Weibull of shape 1


def shares_of_variation(
    draws: pl.DataFrame, lives: pl.DataFrame, *, level: float = 0.90
) -> pl.DataFrame:
    """Shares of the variance of log life (SHARES), posterior medians and limits.

    `lives`: model, parts, batch, lives (how many). The variance of log life is the sum of that of
    log typical scales between models, that of log batch scales around their model's mean, both
    weighted by lives, and ``pi^2 / 6 / shape^2`` within a batch: what differs between sets of
    parts that nobody can tell apart. Shares of one draw sum to 1; medians need not.
    """
    out: list[tuple[str | float | None, ...]] = []
    for parts in draws["parts"].unique().sort():
        joint = Together(draws, parts)
        own = lives.filter(pl.col("parts") == parts)
        weights, batches, chance, middles = [], [], [], []
        for at, model in enumerate(joint.models):
            counts = dict(own.filter(pl.col("model") == model).select("batch", "lives").iter_rows())
            between, middle = _between_batches(joint, at, counts)
            weights.append(float(sum(counts.values())))
            batches.append(between)
            middles.append(middle)
            chance.append(_SPREAD_OF_LOG_LIFE / joint.shape[at] ** 2)
            of_model = {"batch": between, "chance": chance[-1]}
            out += _rows(parts, model, of_model, level)
        weight = np.array(weights)
        if weight.sum() <= 0.0:
            continue
        weight = weight / weight.sum()
        middle = np.stack(middles)
        mean = weight @ middle
        whole = {
            "model": weight @ (middle - mean) ** 2,
            "batch": weight @ np.stack(batches),
            "chance": weight @ np.stack(chance),
        }
        out += _rows(parts, None, whole, level)
    return pl.DataFrame(out, schema=SHARES, orient="row")


def _between_batches(
    joint: Together, at: int, counts: dict[str | None, float]
) -> tuple[Floats, Floats]:
    """Variance of log batch scales and their mean, by lives of batches that are known."""
    scales = {b: s for b, s in joint.scales[at].items() if counts.get(b, 0.0) > 0.0}
    if not scales:
        return np.zeros_like(joint.centre[at]), joint.centre[at]
    weight = np.array([counts[b] for b in scales])
    weight = weight / weight.sum()
    stacked = np.stack(list(scales.values()))
    mean = weight @ stacked
    return weight @ (stacked - mean) ** 2, mean


def _rows(
    parts: str, model: str | None, pieces: dict[str, Floats], level: float
) -> list[tuple[str | float | None, ...]]:
    total = sum(pieces.values())
    return [
        (parts, model, name, *limits_of(piece / total, level).tolist())
        for name, piece in pieces.items()
    ]
