"""What shortens or lengthens lives: Weibull regression on columns. METHODS: regression."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.compare import p_value
from fleet.fits.groups.by_lifelines import lifelines_start
from fleet.fits.groups.factors import Factor, Term, make_terms, read_factors
from fleet.fits.groups.life_ages import ages_of
from fleet.fits.groups.life_ratios import ratio_limits
from fleet.fits.groups.scale_model import Best, Columns, ScaleModel, open_ended
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Floats, check_lives
from fleet.fits.weibull import check_level

# Failures per coefficient below which estimates are off and limits too narrow: Peduzzi, Concato,
# Feinstein and Holford (1995), J. Clin. Epidemiol. 48:1503-1510; for logistic regression
# Peduzzi et al. (1996), 49:1373-1379.
PER_COEFFICIENT = 10.0
_PROFILED = 200_000  # rows x columns up to which limits are profile-likelihood limits
_LIFELINES = 5_000_000  # rows x columns up to which lifelines is asked; beyond it takes minutes
_SAME = 1e-3  # slope per life up to which a start counts as the maximum, to be polished

EFFECTS = pl.Schema(
    {
        "column": pl.String(),
        "value": pl.String(),  # of a column of names; null for numbers
        "per": pl.String(),
        "effect": pl.Float64(),  # ratio of lives; below 1: shorter
        "effect_low": pl.Float64(),
        "effect_high": pl.Float64(),
        "p_value": pl.Float64(),
        "p_column": pl.Float64(),  # that the whole column makes no difference
        "lives": pl.Float64(),
        "failures": pl.Float64(),
        "missing": pl.Float64(),  # lives left out because this column is empty
        "reliable": pl.Boolean(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Regression:
    """Effects (EFFECTS), the shared shape, the log-likelihood, and how it was reached.

    `solved_by`: lifelines, checked on our likelihood, or fleet where lifelines cannot do the
    lives. `lives`, `failures`: complete ones; `missing`: lives left out for an empty column.
    """

    effects: pl.DataFrame
    shape: float | None
    log_likelihood: float
    solved_by: str
    lives: float
    failures: float
    missing: float


def regression(
    lives: pl.DataFrame,
    columns: Sequence[Factor | str],
    *,
    apart: Sequence[str] = (),
    level: float = 0.95,
) -> Regression:
    """Ratio of lives for each column, the others held fixed; one Weibull shape for all.

    `lives`: frames.LIFE and the columns. Each group of the columns `apart` has a scale of its
    own; groups without a failure then tell nothing and are left out. Lives with an empty column
    are left out and counted. Limits are profile-likelihood limits and p_value a
    likelihood-ratio test's; in large tables both are Wald's. Null: no estimate, or unbounded on
    that side. Raises BadFrame; BadInput where no life failed, or for a column that is constant
    or tells nothing of its own.
    """
    check_level(level)
    check_lives(lives, apart)
    factors = read_factors(lives, columns)
    names = [f.column for f in factors]
    whole = lives.drop_nulls(names).filter(
        pl.col("high").is_not_null() | (pl.col("low") > pl.col("entry"))
    )
    failed = whole.filter(pl.col("high").is_not_null())["count"].sum()
    if failed <= 0.0:
        raise BadInput(
            f"no life with {_listed(names)} known has failed; nothing can be told of what "
            "shortens lives"
        )
    if apart:
        whole = whole.filter(pl.col("high").is_not_null().any().over(list(apart)))
    terms = make_terms(whole, factors, apart=apart)
    design = np.column_stack([np.ones(whole.height), *(t.x for t in terms)])
    ages, count = ages_of(whole), whole["count"].to_numpy()
    model = ScaleModel(ages, count, Columns(matrix=design))
    start = lifelines_start(ages, count, design) if design.size <= _LIFELINES else None
    fits = start is not None and _slope(model, start) < _SAME
    best = model.maximum(start if fits else None)
    effects = _effects(model, best, terms, 0.5 * chi_square_1(level))
    total = float(whole["count"].sum())
    frame = _counted(effects, terms, whole, lives).with_columns(
        reliable=pl.lit(failed >= PER_COEFFICIENT * len(terms))
    )
    shape = float(np.exp(best.theta[-1]))
    return Regression(
        effects=frame.select(EFFECTS.names()).cast(EFFECTS),
        shape=None if open_ended(best, len(best.theta) - 1) else shape,
        log_likelihood=best.value,
        solved_by="lifelines" if fits else "fleet",
        lives=total,
        failures=float(failed),
        missing=float(lives.filter(pl.any_horizontal(pl.col(names).is_null()))["count"].sum()),
    )


def _slope(model: ScaleModel, theta: Floats) -> float:
    value, gradient, _ = model.slopes(theta)
    return float(np.abs(gradient).max()) / model.lives if np.isfinite(value) else np.inf


def _effects(model: ScaleModel, best: Best, terms: list[Term], drop: float) -> pl.DataFrame:
    profiled = model.design.size <= _PROFILED
    rows: list[dict[str, Any]] = []
    endless = open_ended(best, 0)
    for k, term in _told(terms):
        low, high = None, None
        if not endless:
            low, high = ratio_limits(model, best, k, drop, profiled=profiled)
        told = not (endless or open_ended(best, k))
        rows.append(
            {
                "column": term.column,
                "value": term.value,
                "per": term.per,
                "effect": _ratio(best.theta[k], term) if told else None,
                "effect_low": _ratio(low, term),
                "effect_high": _ratio(high, term),
                "p_value": None if endless else _chance(model, best, [k], profiled=profiled),
                "p_column": None,
            }
        )
    for column in dict.fromkeys(t.column for _, t in _told(terms)):
        held = [k for k, t in _told(terms) if t.column == column]
        own = [row for row in rows if row["column"] == column]
        p = own[0]["p_value"]
        if len(held) > 1 and not endless:
            p = _chance(model, best, held, profiled=True)
        for row in own:
            row["p_column"] = p
    return pl.DataFrame(rows, {k: v for k, v in EFFECTS.items() if k in rows[0]})


def _told(terms: list[Term]) -> list[tuple[int, Term]]:
    """The terms to report, with their places in the design; groups kept apart are not."""
    return [(k, term) for k, term in enumerate(terms, start=1) if term.column]


def _ratio(log_ratio: float | None, term: Term) -> float | None:
    return None if log_ratio is None else float(np.exp(log_ratio * term.times))


def _chance(model: ScaleModel, best: Best, held: list[int], *, profiled: bool) -> float | None:
    """p-value of these coefficients being 0."""
    if profiled:
        theta = best.theta.copy()
        theta[held] = 0.0
        without = model.maximum(theta, np.array(held))
        return p_value(max(2.0 * (best.value - without.value), 0.0), len(held))
    (k,) = held
    return p_value(float(best.theta[k] ** 2 / best.covariance[k, k]), 1)


def _counted(
    effects: pl.DataFrame, terms: list[Term], whole: pl.DataFrame, lives: pl.DataFrame
) -> pl.DataFrame:
    failed = pl.col("high").is_not_null()
    rows = []
    for _, term in _told(terms):
        own = whole
        if term.value is not None:
            own = whole.filter(pl.col(term.column).cast(pl.String) == term.value)
        missing = lives.filter(pl.col(term.column).is_null())["count"].sum()
        rows.append((own["count"].sum(), own.filter(failed)["count"].sum(), missing))
    counts = pl.DataFrame(rows, schema=["lives", "failures", "missing"], orient="row")
    return effects.hstack(counts)


def _listed(names: Sequence[str]) -> str:
    return " and ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} and {names[-1]}"
