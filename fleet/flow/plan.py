"""The plan: which machine is done in which month, for one store and one as-of date."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units
from fleet.decisions.moving_cost import waiting
from fleet.decisions.plan import REACH, fullest, place_jobs
from fleet.decisions.plan_months import MOST_MONTHS, Month, days_to_middles, months_from
from fleet.decisions.plan_spread import chances_by
from fleet.decisions.policies import LEAST_COST, Policy
from fleet.decisions.units_by_cell import units_by_cell
from fleet.errors import BadInput
from fleet.flow.amounts import cheap_failures
from fleet.flow.answers import READ, table_of
from fleet.flow.due import costs_of
from fleet.flow.due_by_posterior import Asked, due_of_posterior, working_units
from fleet.flow.due_when import date_reached, overdue
from fleet.flow.known import entered_later, known_records
from fleet.flow.new_parts import AS_BEFORE, new_lives
from fleet.flow.plan_bench import AtBench, at_bench
from fleet.flow.plan_outlook import Ready, days_to_jobs, failures_of, if_lost
from fleet.flow.plan_parts import parts_there
from fleet.flow.plan_tables import (
    FIRST,
    LATER,
    MONTHS,
    WORK,
    jobs_of,
    later_of,
    months_of,
    work_of,
)
from fleet.flow.plan_words import Lost, foot_words, plan_words
from fleet.flow.posterior import posterior_of, prompt_shares
from fleet.flow.table import Settings
from fleet.frames import JOBS, empty_frame

__all__ = ["Plan", "months_from", "plan"]

RECAPS = ("recap_now", "recap_when_due")
FIRST_ACTIONS = ("measure", "check_in")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """`jobs` (frames.JOBS, with on_if_lost where a month was asked about), `months`
    (plan_tables.MONTHS), `work` (by month and model), `later` (due within the plan, no place in it)
    and `first` (to be measured or asked after before they are planned). `said`: the plan in
    sentences; `notes`: what it rests on. `lost`: what a lost month changes; `gap`: money by which a
    better plan could be cheaper.
    `beside`: of each unit of the due list, `reached`, the day on which it reached or reaches its
    date, `overdue`, and `p_failed_unseen`.
    """

    jobs: pl.DataFrame
    months: pl.DataFrame
    work: pl.DataFrame
    later: pl.DataFrame
    first: pl.DataFrame
    beside: pl.DataFrame
    said: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    lost: tuple[Lost, ...] = ()
    gap: float = 0.0
    currency: str = ""


def plan(
    store: Path,
    *,
    as_of: date,
    months: int = 24,
    hours_per_month: float | None = None,
    budget: float | None = None,
    lose: str | None = None,
    new_parts: str = "typical",
    planned_cost: float | None = None,
    failure_cost: float | None = None,
    level: float = 0.90,
    policy: Policy = LEAST_COST,
    settings: Settings | None = None,
) -> Plan:
    """Dated jobs for the units that are due within `months`, the first being the rest of this one.

    Hours and budget come from the shop's records unless given. `lose`: a month (2026-09) without
    hours; without it the fullest month is looked at. Raises BadInput for what cannot be.
    """
    if not 1 <= months <= MOST_MONTHS:
        raise BadInput(f"the plan has {months} months; give 1 to {MOST_MONTHS}")
    calendar = months_from(as_of, months + REACH)
    spans = calendar[:months]
    lost = _lost_month(lose, spans)
    records = known_records(store, (*READ, "shop", "positions", "offers", "stock"), as_of=as_of)
    table = table_of(records, as_of=as_of, settings=replace(settings or Settings(),
                                                            by_position=False))  # fmt: skip
    costs = costs_of(
        records["models"], table.working, planned_cost=planned_cost, failure_cost=failure_cost
    )
    odd = cheap_failures(costs)
    # a failure is followed by its recap: it never costs less
    costs = costs.with_columns(failure_cost=pl.max_horizontal("failure_cost", "planned_cost"))
    asked = Asked(as_of=as_of, new_parts=new_parts, level=level, policy=policy)
    said = entered_later(store, as_of=as_of)
    if new_parts not in AS_BEFORE:
        if found_lives := new_lives(new_parts, table.working, records):
            asked = replace(asked, new_lives=found_lives.frame)
            said = (*said, *found_lives.notes)
        asked = replace(asked, new_parts="typical")
    found = posterior_of(table, records, as_of=as_of)
    due = due_of_posterior(found, table, records, costs, asked)
    bench = at_bench(records, due["model"], hours_per_month=hours_per_month, budget=budget)
    wanted, nameless = _wanted(due, costs, bench, calendar, months)
    listed, units, _ = units_by_cell(
        working_units(table, records),
        found.cells,
        prompt_shares(table.lives.filter(pl.col("parts") != "partial")),
        as_of=as_of,
    )
    ready = _ready(wanted, listed, units, found.cells, DrawnLives.of(found.cells, found.draws),
                   asked, calendar, bench, costs)  # fmt: skip
    parts = parts_there(ready.jobs, records, as_of=as_of)
    ready = replace(ready, there=parts.there)
    notes = (*said, *nameless, *odd, *parts.notes)
    made = _planned(ready, due, spans, bench, asked, lost, notes, lose is not None)
    return replace(made, jobs=parts.told_in(made.jobs))


def _lost_month(lose: str | None, spans: list[Month]) -> int | None:
    if lose is None:
        return None
    names = [month.name for month in spans]
    if lose not in names:
        raise BadInput(
            f"the plan has no month {lose!r}; write one from {names[0]} to {names[-1]}, "
            "like 2027-03"
        )
    return names.index(lose)


def _wanted(
    due: pl.DataFrame,
    costs: pl.DataFrame,
    bench: AtBench,
    calendar: list[Month],
    months: int,
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Units that may have a job, and a sentence on those whose costs nobody told."""
    reach = calendar[-1].last if bench.bench.setup_cost > 0.0 else calendar[months - 1].last
    mine = due.filter(pl.col("action").is_in(RECAPS) & (pl.col("due_on") <= reach))
    mine = mine.join(costs, on="model", how="left", maintain_order="left").join(
        bench.hours, on="model", how="left", maintain_order="left"
    )
    known = (pl.col("planned_cost") > 0.0) & (pl.col("failure_cost") > 0.0)
    none = mine.filter(~known.fill_null(value=False))
    said: tuple[str, ...] = ()
    if none.height:
        names = ", ".join(none["model"].unique().sort())
        said = (
            f"Not planned: {none.height:,} due machines of {names}, of which nobody said what a "
            "planned recap and a failure cost. Enter both with the model.",
        )
    return mine.filter(known.fill_null(value=False)), said


def _ready(
    wanted: pl.DataFrame,
    listed: pl.DataFrame,
    units: Units,
    cells: pl.DataFrame,
    lives: DrawnLives,
    asked: Asked,
    calendar: list[Month],
    bench: AtBench,
    costs: pl.DataFrame,
) -> Ready:
    place = wanted.select("unit").join(
        listed.select("unit").with_row_index("place"), on="unit", how="left", maintain_order="left"
    )["place"]
    # a unit of which nothing is known but its age may be due by a fixed age: no chances, no job
    has = place.is_not_null()
    wanted, rows = wanted.filter(has), place.drop_nulls().to_numpy().astype(np.int64)
    mine, own = listed[rows], units.take(rows)
    given = asked.new_lives
    if given is None:
        given = pl.DataFrame(schema={"unit": pl.String, "new_life": pl.Float64})
    mine = mine.join(costs, on="model", how="left", maintain_order="left").join(
        given, on="unit", how="left", maintain_order="left"
    )
    days = days_to_middles(asked.as_of, calendar)
    same = asked.new_parts == "same" and asked.new_lives is None
    alive = 1.0 - wanted["p_failed_unseen"].fill_null(0.0).to_numpy()
    models = wanted["model"].unique().sort()
    number = wanted["model"].replace_strict(models, range(len(models)), return_dtype=pl.Int64)
    moving = np.zeros((0, days.size))
    if wanted.height:
        waits = waiting(mine, own, cells, lives, days, same=same)
        if asked.policy.rule == "cost":
            moving = waits.above_best()
        else:
            ends = np.array([m.last for m in calendar], dtype="datetime64[D]")
            moving = waits.above_date(np.searchsorted(ends, wanted["due_on"].to_numpy()))
        moving = moving * alive[:, None]  # a machine that is dead already waits for nothing
    any_day = pl.repeat(None, wanted.height, dtype=pl.Date, eager=True)
    return Ready(units=own, lives=lives, alive=alive, number=number.to_numpy(), jobs=wanted,
                  moving=moving, there=any_day)  # fmt: skip


def _planned(
    ready: Ready,
    due: pl.DataFrame,
    spans: list[Month],
    bench: AtBench,
    asked: Asked,
    lost: int | None,
    notes: tuple[str, ...],
    chosen: bool,
) -> Plan:
    end = spans[-1].last
    first = due.filter(pl.col("action").is_in(FIRST_ACTIONS) & (pl.col("due_on") <= end)).select(
        FIRST.names()
    )
    beside = due.select("unit", "p_failed_unseen", reached=date_reached(), overdue=overdue())
    if ready.jobs.is_empty():
        return Plan(
            jobs=empty_frame(JOBS), months=_no_work(spans, bench), work=pl.DataFrame(schema=WORK),
            later=pl.DataFrame(schema=LATER), first=first, beside=beside, currency=bench.currency,
            said=plan_words(None, first, bench), notes=(*notes, *bench.notes),
        )  # fmt: skip
    placed = place_jobs(ready.jobs, ready.moving, spans, bench.bench, not_before=ready.there)
    days = days_to_jobs(placed, ready, asked.as_of)
    p_fail_before = chances_by(ready.lives, ready.units, days)
    jobs = jobs_of(placed, p_fail_before)
    later = later_of(placed, end)
    which = fullest(placed) if lost is None else lost
    changed = () if which is None else (if_lost(ready, placed, which, asked.as_of, p_fail_before),)
    if chosen and changed:
        jobs = jobs.join(changed[0].moves, on="unit", how="left", maintain_order="left")
    counts = failures_of(ready, placed, days, later, asked)
    return Plan(
        jobs=jobs,
        months=months_of(placed, bench.bench),
        work=work_of(placed),
        later=later,
        first=first,
        beside=beside,
        said=plan_words(jobs, first, bench, placed=placed, later=later, counts=counts,
                        lost=changed),
        notes=(*notes, *bench.notes, *foot_words(placed, bench, asked.policy)),
        lost=changed,
        gap=placed.solution.gap,
        currency=bench.currency,
    )  # fmt: skip


def _no_work(spans: list[Month], bench: AtBench) -> pl.DataFrame:
    nothing = pl.DataFrame(schema={"unit": pl.String, "model": pl.String, "due_on": pl.Date,
                                   "p_fail": pl.Float64, "hours": pl.Float64,
                                   "planned_cost": pl.Float64})  # fmt: skip
    placed = place_jobs(nothing, np.zeros((0, len(spans) + 1)), spans, bench.bench)
    return months_of(placed, bench.bench).select(MONTHS.names())
