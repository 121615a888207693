"""The due list: every working unit with its chance of failing, its date, and what to do."""

from datetime import date

import numpy as np
import polars as pl

from fleet.ages import days
from fleet.decisions.actions import judge
from fleet.decisions.best_ages import best_of_estimates, best_of_regions, with_costs
from fleet.decisions.chance import NO_SHARE, chance_failed_unseen, chance_within
from fleet.decisions.costs import check_costs
from fleet.decisions.estimate_for import estimate_for, numbered
from fleet.decisions.spread import added_hazard_limits, best_age_limits
from fleet.decisions.unit_dates import most_urgent_first, with_ages, with_dates
from fleet.errors import BadInput
from fleet.frames import DUE, ESTIMATES, REGION, WORKING, check_frame

_NUMBERS = (
    "p_fail",
    "p_fail_low",
    "p_fail_high",
    "p_failed_unseen",
    "best",
    "best_low",
    "best_high",
)


def due_list(
    working: pl.DataFrame,
    estimates: pl.DataFrame,
    regions: pl.DataFrame,
    costs: pl.DataFrame,
    *,
    as_of: date,
    horizon_years: float = 2.0,
    new_parts: str = "typical",
    min_batch_failures: float = 5.0,
) -> pl.DataFrame:
    """One row per working unit (frames.DUE, ages in days), most urgent first.

    `working` frames.WORKING, `estimates` frames.ESTIMATES, `costs` columns model, planned_cost,
    failure_cost (null: unknown). `regions` frames.REGION, the edge of each estimate's likelihood
    region; with a column weight its rows are draws instead, and limits their 5 and 95 %
    quantiles. A column open (Boolean) marks points where a region without an edge on some side
    was cut off: a limit that only they give is null.

    `new_parts`: "typical" (days after the recap cost what the model as a whole does) or "same"
    (the same life over and over). Chances hold for a unit working at `as_of`; the age of a partly
    renewed set is that of its oldest parts. Dates never lie before `as_of`.
    Raises BadFrame for a table that breaks its contract, BadInput for a horizon or choice that
    cannot be.
    """
    for name, frame, schema in (
        ("working", working, WORKING),
        ("estimates", estimates, ESTIMATES),
        ("regions", regions, REGION),
    ):
        check_frame(frame, schema, name=name)
    if not (np.isfinite(horizon_years) and horizon_years > 0):
        raise BadInput(f"the horizon is {horizon_years} years; it should be above zero")
    rows = numbered(estimates)
    priced = with_costs(rows, check_costs(costs), new_parts=new_parts)
    units = with_ages(working, as_of=as_of).hstack(
        estimate_for(working, rows, min_batch_failures=min_batch_failures)
    )
    used = priced.join(units.select("estimate").drop_nulls(), on="estimate", how="semi")
    units = _with_estimates(units, used)
    units = units.hstack(_numbers(units, used, regions, horizon=days(horizon_years)))
    units = with_dates(units, as_of=as_of).with_columns(horizon_years=pl.lit(float(horizon_years)))
    judged = judge(units, as_of=as_of, horizon_years=horizon_years)
    return most_urgent_first(judged).select(DUE.names())


def _with_estimates(units: pl.DataFrame, used: pl.DataFrame) -> pl.DataFrame:
    facts = used.select(
        "estimate",
        "failures",
        "lives",
        "shape",
        "shape_low",
        "shape_high",
        "scale",
        "oldest_age",
        "planned_cost",
        "failure_cost",
        of_batch="batch",
        of_parts="parts",
        prompt_share=pl.col("prompt_share").fill_null(NO_SHARE),
        batch_failures=pl.lit(None, pl.Float64),  # a fit knows one group only
        by_kind=pl.lit(value=False),
        too_few=pl.lit(value=False),
        unplanned=pl.lit(value=False),
    )
    return units.join(facts, on="estimate", how="left", maintain_order="left")


def _numbers(
    units: pl.DataFrame, used: pl.DataFrame, regions: pl.DataFrame, *, horizon: float
) -> pl.DataFrame:
    """Chances and best ages of every unit, null where unknown; infinity, for never, in best_*."""
    out = {name: np.full(units.height, np.nan) for name in _NUMBERS}
    has = (units["estimate"].is_not_null() & units["age"].is_not_null()).to_numpy()
    those = units.filter(has)
    estimate, age, seen_at, shape, scale, share = (
        those[c].to_numpy()
        for c in ("estimate", "age", "seen_at", "shape", "scale", "prompt_share")
    )
    central, points = best_of_estimates(used), best_of_regions(used, regions)
    place = np.searchsorted(central.estimate, estimate)
    now_until, wait = central.best.now_until[place], central.best.wait[place]
    out["p_fail"][has] = p_fail = chance_within(shape, scale, age, horizon)
    out["p_failed_unseen"][has] = chance_failed_unseen(shape, scale, seen_at, age, share)
    out["best"][has] = best = np.where(age <= now_until, age, wait)
    hazards = added_hazard_limits(points, estimate, age, age + horizon)
    bests = best_age_limits(points, estimate, age)
    low, high = (-np.expm1(-hazard) for hazard in hazards)
    if points.weight is None:  # the estimate itself lies within its region
        low, high = np.minimum(low, p_fail), np.maximum(high, p_fail)
        bests = np.minimum(bests[0], best), np.maximum(bests[1], best)
    out["p_fail_low"][has], out["p_fail_high"][has] = low, high
    out["best_low"][has], out["best_high"][has] = bests
    return pl.DataFrame(out).fill_nan(None)
