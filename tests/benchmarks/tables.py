"""Invented life tables for timing: models x batches with every kind of life."""

import numpy as np
import polars as pl

DAYS = 365.25


def life_table(units: int, *, models: int = 1000, batches: int = 20, seed: int = 7) -> pl.DataFrame:
    """Ages in whole days; about a third failed, an eighth of all in intervals, three in a
    hundred known only because they failed, six in ten entered late.
    """
    rng = np.random.default_rng(seed)
    model, batch = rng.integers(0, models, units), rng.integers(0, batches, units)
    shape = rng.uniform(2.0, 6.0, models)[model]
    spread = np.exp(rng.normal(0.0, 0.2, (models, batches)))
    scale = rng.uniform(10.0, 25.0, models)[model] * spread[model, batch]
    age = 2026.5 - rng.uniform(1990.0, 2012.0, units)
    entry = np.where(rng.random(units) < 0.4, 0.0, rng.random(units) * np.minimum(15.0, age))
    end = np.minimum(age, entry + rng.exponential(8.0, units))
    life = scale * ((entry / scale) ** shape + rng.exponential(1.0, units)) ** (1.0 / shape)
    failed = life <= end
    entry = np.round(entry * DAYS)
    low = np.maximum(np.round(np.minimum(life, end) * DAYS), entry + 1.0)
    high = np.where(failed, low, np.nan)
    closed = failed & (rng.random(units) < 0.4)
    width = np.round(rng.uniform(30.0, 400.0, units))
    first = np.maximum(entry, low - np.round(width * rng.random(units)))
    high, low = np.where(closed, first + width, high), np.where(closed, first, low)
    # known only because they failed: from the distribution cut off at today's age
    only = rng.random(units) < 0.03
    today = np.round(age * DAYS)
    chance = -np.expm1(-((age / scale) ** shape))
    cut = scale * (-np.log1p(-rng.random(units) * chance)) ** (1.0 / shape)
    cut = np.clip(np.round(cut * DAYS), 1.0, today - 1.0)
    frame = pl.DataFrame(
        {
            "entry": np.where(only, 0.0, entry),
            "low": np.where(only, cut, low),
            "high": np.where(only, cut, high),
            "known_by": np.where(only, today, np.nan),
            "count": np.ones(units),
        }
    ).with_columns(pl.col("high", "known_by").fill_nan(None))
    names = {"model": (models, model), "batch": (batches, batch)}
    return frame.with_columns(
        pl.Series([f"{name}{i:04d}" for i in range(count)]).gather(pl.Series(which)).alias(name)
        for name, (count, which) in names.items()
    )


def with_sparse_groups(lives: pl.DataFrame) -> pl.DataFrame:
    """The same with every twentieth batch cut to no, one or two failures."""
    few = {"batch0003": 0, "batch0007": 1, "batch0011": 2}
    rank = pl.col("high").is_not_null().cum_sum().over("model", "batch")
    tenth = pl.col("model").str.slice(-1).is_in(["0", "5"])
    most = pl.col("batch").replace_strict(few, default=10**9, return_dtype=pl.Int64)
    keep = ~tenth | pl.col("high").is_null() | (rank <= most)
    return lives.filter(keep)
