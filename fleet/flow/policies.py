"""What each rule for renewing parts costs, model by model, beside running to failure."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR, days
from fleet.decisions.policies import Policy
from fleet.errors import BadInput
from fleet.flow.amounts import cheap_failures
from fleet.flow.answers import READ, table_of
from fleet.flow.bench_costs import Given, bench_of
from fleet.flow.due import costs_of
from fleet.flow.known import known_records
from fleet.flow.openings import openings_of
from fleet.flow.policy_words import model_said, reading_said
from fleet.flow.posterior import posterior_of
from fleet.flow.shop import shop_of
from fleet.flow.table import Answer, Settings
from fleet.flow.tested_readings import Tested, tested_readings

__all__ = ["FEWEST_FAILURES", "POLICIES", "READ_FOR_COSTS", "Asked", "policies", "rule_names"]

READ_FOR_COSTS = (*READ, "readings", "shop")
FEWEST_FAILURES = 3.0  # of a model, below which the prior speaks alone

POLICIES = {
    "run_to_failure": "run to failure",
    "cost": "at the age that costs least",
    "risk": "at a risk limit",
    "age": "at a fixed age",
    "opportunity": "at its planned age, sooner when open anyway",
    "condition_first": "measure first",
}


_RISK, _GIVEN = Policy(rule="risk"), Given()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the comparison is asked for. `parts`: original, or replaced ones, over and over.

    Raises BadInput for what cannot be.
    """

    parts: str = "original"
    risk: Policy = _RISK
    fixed_years: float = 10.0
    every_years: float = 2.0
    planned_cost: float | None = None
    failure_cost: float | None = None
    given: Given = _GIVEN
    sensitivity: float | None = None
    specificity: float | None = None

    def __post_init__(self) -> None:
        if self.parts not in ("original", "replaced"):
            raise BadInput(f"the parts cannot be {self.parts!r}; choose original or replaced")
        for name, value in (("fixed age", self.fixed_years), ("time between", self.every_years)):
            if not (math.isfinite(value) and value > 0.0):
                raise BadInput(f"the {name} is {value:g} years; give a number above zero")


def policies(
    store: Path, *, as_of: date, asked: Asked | None = None, settings: Settings | None = None
) -> Answer:
    """A row for each model and rule: model, and decisions.policy_costs.POLICY_COSTS (days, costs a
    machine and year), currency; and the sentences with them.

    Raises BadInput for options that cannot be.
    """
    from fleet.decisions.condition_first import Reading
    from fleet.decisions.drawn_lives import DrawnLives
    from fleet.decisions.policy_costs import POLICY_COSTS, policy_costs

    asked = asked or Asked()
    records = known_records(store, READ_FOR_COSTS, as_of=as_of)
    table = table_of(records, as_of=as_of, settings=settings)
    found = posterior_of(table, records, as_of=as_of)
    costs = costs_of(
        records["models"],
        found.cells.select("model"),
        planned_cost=asked.planned_cost,
        failure_cost=asked.failure_cost,
    )
    tested = tested_readings(records, within_years=asked.every_years)
    reading = Reading(
        sensitivity=_given(asked.sensitivity, tested.sensitivity),
        specificity=_given(asked.specificity, tested.specificity),
        within=days(asked.every_years),
    )
    lives = DrawnLives.of(found.cells, found.draws)
    openings = openings_of(records, table)
    shop, rows, notes = shop_of(records), [], [*cheap_failures(costs)]
    for model in found.cells["model"].unique().sort():
        cell = found.cells.filter(model=model, parts=asked.parts, to_come=True).row(0, named=True)
        known = costs.filter(model=model).row(0, named=True)
        planned, failure = known["planned_cost"], known["failure_cost"]
        if not (planned and failure):
            notes.append(_no_costs(model))
            continue
        if found.cells.filter(model=model, to_come=True)["failures"].sum() < FEWEST_FAILURES:
            notes.append(_too_few(model))
        rate = openings.filter(model=model)["rate"]
        bench = bench_of(model, records["models"], shop, asked.given, openings=rate[0])
        notes.extend(bench.notes)
        frame = policy_costs(
            lives,
            int(cell["cell"]),
            planned=planned,
            failure=failure,
            risk=asked.risk,
            fixed_years=asked.fixed_years,
            bench=bench.bench,
            reading=reading,
        )
        rows.append(
            frame.select(
                pl.lit(model).alias("model"),
                pl.all(),
                pl.lit(bench.currency, dtype=pl.String).alias("currency"),
            )
        )
    if not rows:
        empty = pl.DataFrame(schema={"model": pl.String, **POLICY_COSTS, "currency": pl.String})
        return Answer(frame=empty, notes=tuple(notes))
    frame = pl.concat(rows)
    return Answer(frame=frame, notes=(*_said(frame, asked, tested), *dict.fromkeys(notes)))


def _given(told: float | None, learned: float) -> float:
    return learned if told is None else told


def _said(frame: pl.DataFrame, asked: Asked, tested: Tested) -> Iterator[str]:
    kind = "the maker's parts" if asked.parts == "original" else "parts as they are fitted since"
    yield (
        f"Reckoned for {kind} of a typical batch, over and over; the due list and fleet choose "
        "take a machine's own parts and what goes in, so their ages differ"
    )
    for _, rows in frame.group_by("model", maintain_order=True):
        yield model_said(rows)
    yield (
        "At the model's usual temperature and use; limits are of the expected cost, what is not "
        "known of lives"
    )
    if frame["policy"].is_in(["condition_first"]).any():
        yield reading_said(tested, asked.sensitivity, asked.specificity, asked.every_years)


def _no_costs(model: str) -> str:
    return (
        f"What a planned recap and a failure cost for model {model} is not all known: enter both "
        "with the model, or give --planned-cost and --failure-cost"
    )


def _too_few(model: str) -> str:
    return (
        f"Fewer than three failures of model {model} are known: its numbers are what is usual for "
        "such parts, not yet its own"
    )


def rule_names(risk: Policy, fixed_years: float) -> dict[str, str]:
    """POLICIES with the limit and the age that were asked for."""
    span = "a year" if risk.within_years == 1.0 else f"{risk.within_years:g} years"
    limit = f"{100.0 * risk.limit:g} in 100 failing within {span}"
    return {
        **POLICIES,
        "risk": f"at a risk limit: {limit}",
        "age": f"at a fixed age: {fixed_years:g} years",
    }


def years_of(frame: pl.DataFrame) -> pl.DataFrame:
    """The same with ages in years."""
    return frame.with_columns(pl.col("age", "open_age") / DAYS_PER_YEAR)
