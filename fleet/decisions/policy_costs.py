"""What each rule costs in the long run, beside running to failure, from the same draws.

Under each draw the same life comes over and over; the cost of a rule is its mean over the draws.
METHODS: policies, age-replacement, opportunity-age, condition-first
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR, days
from fleet.decisions.best_ages_by_draws import best_ages
from fleet.decisions.condition_first import Reading, looking_first
from fleet.decisions.drawn_lives import DrawnLives, quantiles
from fleet.decisions.forecast import Units
from fleet.decisions.opportunity_age import opportunity_age
from fleet.decisions.policies import Policy
from fleet.decisions.risk_limit import ages_at_risk
from fleet.decisions.set_life import SetLife
from fleet.decisions.weibull_life import Floats

_TAIL = 0.05

POLICY_COSTS = pl.Schema(
    {
        "policy": pl.String(),  # run_to_failure, cost, risk, age, opportunity, condition_first
        "age": pl.Float64(),  # days: renewed at, or first looked at; null: never
        "open_age": pl.Float64(),  # days: renewed from then on when the machine is open anyway
        "cost": pl.Float64(),  # a machine and year
        "cost_low": pl.Float64(),  # of the expected cost, 5 and 95 % of the draws
        "cost_high": pl.Float64(),
        "failures": pl.Float64(),  # a machine and year
        "saving": pl.Float64(),  # share of what running to failure costs
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What opening and looking cost, and how often machines are opened for other reasons.

    Costs in the model's currency, `openings` a machine and day.
    """

    opening: float
    measuring: float
    openings: float


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Found:
    age: float
    rate: Floats
    failures: Floats
    open_age: float = np.inf


def policy_costs(
    lives: DrawnLives,
    cell: int,
    *,
    planned: float,
    failure: float,
    risk: Policy,
    fixed_years: float,
    bench: Bench | None,
    reading: Reading,
) -> pl.DataFrame:
    """A row for each rule (POLICY_COSTS) for parts of a cell that go in over and over.

    Without a `bench` the two rules that need one are left out.
    """
    life = SetLife.to_come(lives, cell)
    best = best_ages(
        life.shape[None], np.log(life.scale)[None], life.weight[None],
        np.array([planned]), np.array([failure]), None,
    )  # fmt: skip
    rows = {
        "run_to_failure": _at(life, np.inf, planned, failure),
        "cost": _at(life, float(best.age[0]), planned, failure),
        "risk": _at(life, _risk_age(lives, cell, risk), planned, failure),
        "age": _at(life, days(fixed_years), planned, failure),
    }
    if bench is not None:
        open_ = opportunity_age(
            life, planned=planned, failure=failure, opening=bench.opening, openings=bench.openings
        )
        look = looking_first(
            life, reading, planned=planned, failure=failure, opening=bench.opening,
            measuring=bench.measuring,
        )  # fmt: skip
        rows["opportunity"] = _Found(
            age=open_.planned_age, rate=open_.rate, failures=open_.failures,
            open_age=open_.open_age,
        )  # fmt: skip
        rows["condition_first"] = _Found(
            age=look.first_look, rate=look.rate, failures=look.failures
        )
    return _table(rows, life.weight)


def _at(life: SetLife, age: float, planned: float, failure: float) -> _Found:
    """Renewing at an age: [cp R(T) + cf F(T)] / ∫_0^T R a day."""
    if not np.isfinite(age):
        return _Found(age=np.inf, rate=failure / life.mean(), failures=1.0 / life.mean())
    alive, worked = life.lasts(age), life.worked(age)
    rate = (planned * alive + failure * (1.0 - alive)) / worked
    return _Found(age=age, rate=rate, failures=(1.0 - alive) / worked)


def _risk_age(lives: DrawnLives, cell: int, risk: Policy) -> float:
    """Age of new parts of a cell, at the usual temperature and use, at the risk limit."""
    zero = np.zeros(1)
    unit = Units(
        cell=np.array([cell]), youngest=zero, oldest=zero, silent=zero,
        ambient_c=lives.usual_c[[cell]], hours=lives.usual_hours[[cell]],
        old_cell=np.array([-1]), old_age=np.array([np.nan]), own_unknown=np.array([False]),
        prompt_share=np.array([1.0]),
    )  # fmt: skip
    within = days(risk.within_years)
    return float(ages_at_risk(lives, unit, zero, limit=risk.limit, within=within).age[0])


def _table(rows: dict[str, _Found], weight: Floats) -> pl.DataFrame:
    failing = float((weight * rows["run_to_failure"].rate).sum())
    out = []
    for name, found in rows.items():
        low, high = quantiles(found.rate[None], weight[None], (_TAIL, 1.0 - _TAIL))
        cost = float((weight * found.rate).sum())
        out.append(
            {
                "policy": name,
                "age": found.age if np.isfinite(found.age) else None,
                "open_age": found.open_age if np.isfinite(found.open_age) else None,
                "cost": cost * DAYS_PER_YEAR,
                "cost_low": min(float(low[0]), cost) * DAYS_PER_YEAR,
                "cost_high": max(float(high[0]), cost) * DAYS_PER_YEAR,
                "failures": float((weight * found.failures).sum()) * DAYS_PER_YEAR,
                "saving": 1.0 - cost / failing,
            }
        )
    return pl.DataFrame(out, schema=POLICY_COSTS)
