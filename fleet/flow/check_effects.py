"""How far an answer would move, or its limits narrow, if one thing in the data were settled.

METHODS: check-effects. The answer measured is the age by which one in ten of a model's original
sets has failed (B10); an effect of 0.25 is a change of it, or a narrowing of its limits to either
side, by a quarter. Limits further off than a factor of 2.7 count as that far: nobody acts on them.
"""

from dataclasses import dataclass, field

import numpy as np
import polars as pl

from fleet.flow.answers import choose_parts, weibull
from fleet.flow.table import Settings, Table

FURTHEST = 9.0  # change of B10 beyond which it does not matter how far; our own choice
_WIDEST = 1.0  # log half-width of limits beyond which they are of no use; our own choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """The largest effect over the models, and the model it was seen in."""

    size: float
    model: str


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Baseline:
    """The fits as they are: model, failures, exists, b10, b10_low, b10_high; by model."""

    table: Table
    fits: pl.DataFrame
    half: dict[str, float] = field(default_factory=dict)  # log half-width of the limits of B10
    failures: dict[str, float] = field(default_factory=dict)


def baseline(table: Table) -> Baseline:
    """Fit each model as the records stand."""
    fits = fit_models(table)
    there = fits.filter(pl.col("exists") & pl.col("b10").is_not_null())
    return Baseline(
        table=table,
        fits=fits,
        half={row["model"]: _half(row) for row in there.iter_rows(named=True)},
        failures=dict(fits.select("model", "failures").iter_rows()),
    )


def _half(row: dict[str, float]) -> float:
    low, high = row["b10_low"], row["b10_high"]
    if low is None or high is None:
        return _WIDEST
    return 0.5 * float(np.log(high / low))


def fit_models(table: Table) -> pl.DataFrame:
    """Fits of original sets by model; models of failures alone have none."""
    if table.lives.is_empty():
        return weibull(table, by=("model",)).frame
    return weibull(table, by=("model",), settings=Settings()).frame


def chosen_lives(table: Table) -> pl.DataFrame:
    """The lives those fits are made of."""
    return choose_parts(table, ("model",), None)[0]


def moved(one: pl.DataFrame, other: pl.DataFrame) -> Effect | None:
    """How far B10 lies apart in two tables of fits, FURTHEST at most."""
    both = one.select("model", "b10").join(other.select("model", b="b10"), on="model").drop_nulls()
    if both.is_empty():
        return None
    gap = both.select(
        "model", gap=(pl.col("b10").log() - pl.col("b").log()).abs()
    ).sort("gap", "model", descending=[True, False])  # fmt: skip
    far = min(float(gap["gap"][0]), float(np.log1p(FURTHEST)))
    return Effect(size=float(np.expm1(far)), model=str(gap["model"][0]))


def narrowing(half: float, share: float) -> float:
    """How much nearer limits come whose log half-width falls to this share of itself."""
    return float(np.expm1(min(half, _WIDEST) - min(half * share, _WIDEST)))


def narrowed(base: Baseline, other: pl.DataFrame) -> Effect | None:
    """How much nearer the limits of B10 lie in another table of fits."""
    sizes = [
        Effect(
            size=narrowing(base.half[row["model"]], _half(row) / base.half[row["model"]]),
            model=row["model"],
        )
        for row in other.iter_rows(named=True)
        if row["model"] in base.half and row["b10"] is not None
    ]
    return max(sizes, key=lambda effect: effect.size, default=None)


def more_failures(base: Baseline, extra: dict[str, float]) -> Effect | None:
    """What so many more failures of each model would narrow: widths go with the root of their
    number.
    """
    sizes = []
    for model, more in extra.items():
        have = base.failures.get(model, 0.0)
        if model in base.half and more > 0.0 and have > 0.0:
            size = narrowing(base.half[model], float(np.sqrt(have / (have + more))))
            sizes.append(Effect(size=size, model=model))
    return max(sizes, key=lambda effect: effect.size, default=None)


def by_batch(base: Baseline, known: pl.DataFrame) -> Baseline:
    """The same with the middle one of the widths of a model's batches, and the failures in them."""
    from fleet.fits import fit_weibull

    fits = fit_weibull(known, by=("model", "batch")).filter(pl.col("b10").is_not_null())
    half: dict[str, list[float]] = {}
    for row in fits.iter_rows(named=True):
        half.setdefault(row["model"], []).append(_half(row))
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum().alias("failures")
    return Baseline(
        table=base.table,
        fits=base.fits,
        half={model: float(np.median(widths)) for model, widths in half.items()},
        failures=dict(known.group_by("model").agg(failed).iter_rows()),
    )
