"""What a plan is made from, and what comes of it: failures before their day, a lost month."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units
from fleet.decisions.plan import Placed, lose_month
from fleet.decisions.plan_spread import Count, chances_by, failing_by
from fleet.decisions.weibull_life import Floats, Mask, Whole
from fleet.flow.due_by_posterior import Asked
from fleet.flow.plan_tables import days_of
from fleet.flow.plan_words import Lost


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Ready:
    """What a plan is made from: units that may have a job, and how each of them ages."""

    units: Units
    lives: DrawnLives
    alive: Floats
    number: Whole  # of the model
    jobs: pl.DataFrame
    moving: Floats
    there: pl.Series  # first day on which each job's parts can be there


def days_to_jobs(placed: Placed, ready: Ready, as_of: date) -> Floats:
    """Days from as_of to each job; of those without a place, to the end of the plan."""
    on = days_of(placed)["on"].fill_null(placed.months[-1].last)
    return (on - as_of).dt.total_days().to_numpy().astype(float)


def failures_of(
    ready: Ready, placed: Placed, days: Floats, later: pl.DataFrame, asked: Asked
) -> Mapping[str, Count]:
    """Failures before their day of planned jobs, until the end of those left, and of both if
    nothing were done.
    """
    left = ready.jobs["unit"].is_in(later["unit"].implode()).to_numpy()
    planned = placed.planned
    whole = np.full(days.size, float((placed.months[-1].last - asked.as_of).days))

    def count(which: Mask, until: Floats) -> Count:
        rows = np.flatnonzero(which)
        _, number = np.unique(ready.number[rows], return_inverse=True)
        return failing_by(ready.lives, ready.units.take(rows), number, until[rows],
                          ready.alive[rows], level=asked.level)  # fmt: skip

    return {
        "planned": count(planned, days),
        "left": count(left, whole),
        "nothing": count(planned | left, whole),
    }


def if_lost(
    ready: Ready, placed: Placed, month: int, as_of: date, p_fail_before: Floats
) -> Lost:  # fmt: skip
    """What changes when a month of the plan (its index) has no hours. `p_fail_before`: chance of
    each unit to fail before its day as planned (chances_by of days_to_jobs).
    """
    anew = lose_month(placed, month)
    before, after = days_to_jobs(placed, ready, as_of), days_to_jobs(anew, ready, as_of)
    was, now = placed.planned, anew.planned
    both = was & now
    other_day = np.flatnonzero(before != after)
    p_fail_then = p_fail_before.copy()
    p_fail_then[other_day] = chances_by(ready.lives, ready.units.take(other_day), after[other_day])
    fails = [
        float((ready.alive * chance)[was | now].sum()) for chance in (p_fail_before, p_fail_then)
    ]
    moves = days_of(anew).select("unit", on_if_lost="on").filter(pl.Series(was | now))
    return Lost(
        month=placed.months[month].name,
        jobs=int((placed.month == month).sum()),
        moved=int((both & (placed.month != anew.month)).sum()),
        left_out=int((was & ~now).sum()),
        later_by=float((anew.month - placed.month)[both & (placed.month == month)].mean())
        if (both & (placed.month == month)).any()
        else 0.0,
        cost=anew.expected - placed.expected,
        failures=fails[1] - fails[0],
        moves=moves,
    )
