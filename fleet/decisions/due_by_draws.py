"""The due list by the posterior: every chance and age averaged over its draws.

METHODS: unit-draws, best-age-by-draws, chance, unseen
"""

from datetime import date

import numpy as np
import polars as pl

from fleet.ages import days, days_expr
from fleet.decisions.actions import judge
from fleet.decisions.best_ages import NEW_PARTS
from fleet.decisions.cell_facts import with_facts
from fleet.decisions.chance import NO_SHARE
from fleet.decisions.costs import check_costs
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units, forecast
from fleet.decisions.policies import LEAST_COST, Policy
from fleet.decisions.rates_to_come import check_new_lives
from fleet.decisions.risk_limit import ages_at_risk
from fleet.decisions.unit_advice import unit_advice
from fleet.decisions.unit_dates import most_urgent_first, with_ages, with_dates
from fleet.decisions.weibull_life import Floats
from fleet.errors import BadInput
from fleet.frames import DUE, WORKING, check_frame

_KEY = ["model", "parts", "batch"]


def due_by_draws(
    working: pl.DataFrame,
    cells: pl.DataFrame,
    draws: pl.DataFrame,
    costs: pl.DataFrame,
    prompt_shares: pl.DataFrame,
    *,
    as_of: date,
    horizon_years: float = 2.0,
    new_parts: str = "typical",
    new_lives: pl.DataFrame | None = None,
    level: float = 0.90,
    policy: Policy = LEAST_COST,
) -> pl.DataFrame:
    """One row per working unit (frames.DUE, ages in days), most urgent first.

    `working` frames.WORKING with, where known, a column old_batch (of the parts left in a
    partly renewed set). `cells` and `draws` frames.CELLS and frames.DRAWS, ages in days.
    `costs` columns model, planned_cost, failure_cost; `prompt_shares` columns model,
    prompt_share. `new_parts`: "typical" (parts of a batch of the model nobody knows yet) or
    "same" (the same life over and over). `new_lives`, columns unit and new_life (days; null:
    typical), is known of what goes in and comes before `new_parts`. `level` is that of the
    chances' limits, `policy` says what makes a unit due. Raises BadFrame for a table that
    breaks its contract, BadInput for a horizon, level, life or choice that cannot be.
    """
    check_frame(working, WORKING, name="working")
    if not (np.isfinite(horizon_years) and horizon_years > 0):
        raise BadInput(f"the horizon is {horizon_years} years; it should be above zero")
    if not 0.0 < level < 1.0:
        raise BadInput(f"the level is {level}; give it between 0 and 1")
    if new_parts not in NEW_PARTS:
        raise BadInput(f"new parts cannot be {new_parts!r}; choose typical or same")
    lives = DrawnLives.of(cells, draws)
    units = with_cells(with_ages(working, as_of=as_of), cells)
    units = (
        units.join(check_costs(costs), on="model", how="left", maintain_order="left")
        .join(prompt_shares, on="model", how="left", maintain_order="left")
        .join(check_new_lives(new_lives), on="unit", how="left", maintain_order="left")
        .with_columns(pl.col("prompt_share").fill_null(NO_SHARE))
    )
    units = with_facts(units, cells, lives)
    numbers = _numbers(
        units, cells, lives, as_of=as_of, horizon=days(horizon_years),
        same=new_parts == "same" and new_lives is None, level=level,
        policy=policy,
    )  # fmt: skip
    dated = with_dates(units.hstack(numbers), as_of=as_of).with_columns(
        horizon_years=pl.lit(float(horizon_years))
    )
    judged = judge(dated, as_of=as_of, horizon_years=horizon_years, policy=policy)
    return most_urgent_first(judged).select(DUE.names())


def with_cells(units: pl.DataFrame, cells: pl.DataFrame) -> pl.DataFrame:
    """Adds cell and old_cell (null for none): its own batch's, else that of a batch unknown."""
    by_batch = cells.filter(pl.col("batch").is_not_null()).select(*_KEY, own="cell")
    # sets whose batch nobody told are alike as far as is known; else a batch not met before
    unknown = (
        cells.filter(pl.col("batch").is_null())
        .sort("to_come")
        .unique(["model", "parts"], keep="first", maintain_order=True)
        .select("model", "parts", any_batch="cell")
    )
    original = pl.lit("original")
    kept = units.with_columns(
        _parts=pl.when(pl.col("parts") == "original").then(original).otherwise(pl.lit("replaced")),
        _old=original,
        old_batch=pl.col("old_batch") if "old_batch" in units.columns else pl.lit(None, pl.String),
    )
    for parts, batch, name in (("_parts", "batch", "cell"), ("_old", "old_batch", "old_cell")):
        kept = (
            kept.join(
                by_batch, left_on=["model", parts, batch], right_on=_KEY, how="left",
                maintain_order="left",
            )
            .join(
                unknown, left_on=["model", parts], right_on=["model", "parts"], how="left",
                maintain_order="left",
            )
            .with_columns(pl.coalesce("own", "any_batch").alias(name))
            .drop("own", "any_batch")
        )  # fmt: skip
    partial = (pl.col("parts") == "partial") & pl.col("oldest_started").is_not_null()
    return kept.with_columns(old_cell=pl.when(partial).then("old_cell"), estimate="cell").drop(
        "_parts", "_old"
    )


def _numbers(
    units: pl.DataFrame,
    cells: pl.DataFrame,
    lives: DrawnLives,
    *,
    as_of: date,
    horizon: float,
    same: bool,
    level: float,
    policy: Policy,
) -> pl.DataFrame:
    """Chances and best ages of every unit, null where unknown; infinity, for never, in best_*."""
    names = ("p_fail", "p_fail_low", "p_fail_high", "p_failed_unseen")
    out = {n: np.full(units.height, np.nan) for n in (*names, "best", "best_low", "best_high")}
    has = (units["cell"].is_not_null() & units["age"].is_not_null()).to_numpy()
    if has.any():
        those = units.filter(has)
        own = drawn_units(those, as_of=as_of)
        chances = forecast(lives, own, horizon=horizon, level=level)
        if policy.rule == "risk":
            age = those["age"].to_numpy()
            within = days(policy.within_years)
            advice = ages_at_risk(lives, own, age, limit=policy.limit, within=within)
        else:
            advice = unit_advice(those, own, cells, lives, same=same)
        found = (chances.p_fail, chances.low, chances.high, chances.unseen)
        for name, values in zip(out, (*found, advice.age, advice.low, advice.high), strict=True):
            out[name][has] = values
    # the prior alone is no ground for a date
    unplanned = units["unplanned"].fill_null(value=False).to_numpy()
    for name in ("best", "best_low", "best_high"):
        out[name][unplanned] = np.nan
        if policy.age_years is not None and policy.rule == "age":
            out[name][units["age"].is_not_null().to_numpy()] = days(policy.age_years)
    return pl.DataFrame(out).fill_nan(None)


def drawn_units(units: pl.DataFrame, *, as_of: date) -> Units:
    """Units that have a cell and an age as arrays, for `forecast` and its like."""
    at = pl.lit(as_of)
    frame = units.select(
        "cell",
        "ambient_c",
        "hours_per_year",
        "prompt_share",
        pl.col("old_cell").fill_null(-1),
        youngest=days_expr(pl.coalesce("started_latest", "started"), at).clip(lower_bound=0.0),
        oldest=days_expr(pl.coalesce("started_earliest", "started"), at).clip(lower_bound=0.0),
        silent=days_expr(pl.min_horizontal(pl.col("seen"), at), at).clip(lower_bound=0.0),
        old_age=days_expr(pl.col("oldest_started"), at).clip(lower_bound=0.0),
        own_unknown=pl.col("to_come").fill_null(value=False),
    )

    def numbers(name: str) -> Floats:
        return np.array(frame[name].cast(pl.Float64).fill_null(np.nan).to_numpy())

    oldest = numbers("oldest")
    return Units(
        cell=frame["cell"].to_numpy(),
        youngest=np.minimum(numbers("youngest"), oldest),
        oldest=oldest,
        silent=numbers("silent"),
        ambient_c=numbers("ambient_c"),
        hours=numbers("hours_per_year"),
        old_cell=frame["old_cell"].to_numpy(),
        old_age=numbers("old_age"),
        own_unknown=frame["own_unknown"].to_numpy(),
        prompt_share=numbers("prompt_share"),
    )
