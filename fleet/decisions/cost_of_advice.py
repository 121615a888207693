"""What following advice would have cost over the years after a past day, on what happened then.

Three rules are held against the same machines: replace at the advised age, never in advance, at a
fixed age. A machine counts only where its own failure, or that it lived to the end of the horizon,
is known: of one recapped early nobody knows when it would have failed.

The horizon is short beside the life of a set, so what a rule leaves behind counts too. With g the
long-run cost a day of new parts under classic age replacement at its best age T, parts of age x
are worse than new ones by

    V(x) = [cp R(T) + cf (R(x) - R(T)) - g ∫_x^T R] / R(x) for x < T, and cp from T on

(the relative value of renewal theory, Howard 1960, Dynamic Programming and Markov Processes; with
V(0) = 0, rising). The cost of a rule over the horizon is what is paid, plus V of the parts in
service at its end, less V of those at its beginning; over one horizon after another V cancels.
Parts whose replacing never pays have V = 0.
"""

# METHODS: backtest

import numpy as np
import polars as pl
from numpy.typing import ArrayLike

from fleet.decisions.replace_age import age_replacement_weibull
from fleet.decisions.weibull_life import Floats, floats, mean_life

RULES = ("cost", "cost_run_to_failure", "cost_fixed_age")
_NEEDED = ("age", "shape", "scale", "planned_cost", "failure_cost")


def used_up(
    age: ArrayLike, shape: ArrayLike, scale: ArrayLike, planned: ArrayLike, failure: ArrayLike
) -> Floats:
    """V of parts of an age with a Weibull life: by how much they are worse than new, in cost.

    Ages and `scale` in one unit; arrays broadcast. 0 for new parts, and everywhere where replacing
    in advance never pays; `planned` from the best replacement age on.

    >>> used_up([0.0, 300.0, 500.0], 2.5, 1000.0, 1.0, 5.0).round(4).tolist()
    [0.0, 0.8233, 1.0]
    """
    from scipy.special import gammainc

    age, shape, scale, planned, failure = floats(age, shape, scale, planned, failure)
    best = age_replacement_weibull(shape, scale, planned, failure)
    pays = np.isfinite(best.age)
    until = np.where(pays, best.age, 0.0)
    x = np.minimum(np.maximum(age, 0.0), until)
    hazard, last = (x / scale) ** shape, (until / scale) ** shape
    mean = np.where(pays, mean_life(shape, scale), 0.0)
    lived = mean * (gammainc(1.0 / shape, last) - gammainc(1.0 / shape, hazard))
    alive = np.exp(hazard - last)
    value = planned * alive + failure * -np.expm1(hazard - last)
    worse = value - np.where(pays, best.rate, 0.0) * lived * np.exp(hazard)
    return np.asarray(np.where(pays, np.clip(worse, 0.0, planned), 0.0))


def cost_of_rule(
    *,
    age: ArrayLike,
    replace_at: ArrayLike,
    fails_after: ArrayLike,
    shape: ArrayLike,
    scale: ArrayLike,
    planned: ArrayLike,
    failure: ArrayLike,
    horizon: float,
) -> Floats:
    """Cost over `horizon` of replacing at an age (infinite: never), for machines of known fate.

    `age` of the set on the day of the advice; a set older than `replace_at` is replaced at once.
    `fails_after`: time to the failure of that set, infinite where it outlived the horizon.
    `shape` and `scale` are of the parts' life as known today. One unit of age; arrays broadcast.
    """
    age, fails_after = np.asarray(age, float), np.asarray(fails_after, float)
    waits = np.maximum(np.asarray(replace_at, float) - age, 0.0)
    replaced = (waits <= horizon) & (waits < fails_after)
    failed = ~replaced & (fails_after <= horizon)
    paid = np.where(replaced, planned, np.where(failed, failure, 0.0))
    renewed = np.where(replaced, waits, np.where(failed, fails_after, 0.0))
    at_end = np.where(replaced | failed, horizon - renewed, age + horizon)
    life = (shape, scale, planned, failure)
    return np.asarray(paid + used_up(at_end, *life) - used_up(age, *life))


def cost_of_advice(cases: pl.DataFrame, *, horizon: float, fixed_age: float) -> pl.DataFrame:
    """`cases` with cost, cost_run_to_failure and cost_fixed_age of one machine over the horizon.

    Reads age (days), optimal_age (days; null: never), failed, days (to the failure), shape, scale
    (days), planned_cost and failure_cost; costs are null where one of these but optimal_age is.
    `horizon` and `fixed_age` in days. Machines lost from sight before the end get a cost as if
    they had lived: it is for weights to leave them out.
    """
    known = cases.select(pl.all_horizontal(pl.col(_NEEDED).is_not_null())).to_series()
    has = known.to_numpy()
    some = {c: cases.filter(known)[c].to_numpy() for c in (*_NEEDED, "days", "failed")}
    advised = cases.filter(known)["optimal_age"].fill_null(np.inf).to_numpy()
    rules: tuple[ArrayLike, ...] = (advised, np.inf, fixed_age)
    columns = {}
    for name, replace_at in zip(RULES, rules, strict=True):
        columns[name] = np.full(cases.height, np.nan)
        columns[name][has] = cost_of_rule(
            age=some["age"],
            replace_at=replace_at,
            fails_after=np.where(some["failed"], some["days"], np.inf),
            shape=some["shape"],
            scale=some["scale"],
            planned=some["planned_cost"],
            failure=some["failure_cost"],
            horizon=horizon,
        )
    return cases.hstack(pl.DataFrame(columns).fill_nan(None))
