"""A plan as tables: jobs with their days, months, work by model, and what found no place."""

import numpy as np
import polars as pl

from fleet.decisions.plan import Bench, Placed
from fleet.decisions.say import day_said, years_said
from fleet.decisions.weibull_life import Floats
from fleet.frames import JOBS

S, F, N, D = pl.String(), pl.Float64(), pl.Int64(), pl.Date()

MONTHS = pl.Schema(
    {
        "month": S,  # as 2027-03
        "from": D,
        "to": D,
        "jobs": N,
        "models": N,  # that are set up
        "hours": F,  # at the bench, setting up included
        "hours_free": F,  # null: no limit
        "cost": F,  # of the jobs and of setting up
        "budget_free": F,  # null: no limit
    }
)
WORK = pl.Schema({"month": S, "from": D, "model": S, "on": D, "to": D, "jobs": N, "hours": F})
LATER = pl.Schema({"unit": S, "model": S, "due_on": D, "cost_of_moving": F, "reason": S})
FIRST = pl.Schema({"unit": S, "model": S, "action": S, "due_on": D, "p_fail": F, "reason": S})


def sessions_of(placed: Placed) -> pl.DataFrame:
    """WORK with hours as they follow one another: a model a month is one session.

    The model with the most pressing machines comes first, of those whose parts are there by then; a
    session starts on the day by which the bench, at an even pace through the month, has done those
    before it, or when its parts are there.
    """
    problem, months = placed.problem, placed.months
    jobs = placed.jobs.select("unit", "model", "due_on", "p_fail", "hours").with_columns(
        at=pl.Series(placed.month), there=placed.not_before
    )
    sessions = (
        jobs.filter(pl.col("at") < len(months))
        .group_by("at", "model")
        .agg(
            jobs=pl.len().cast(pl.Int64),
            hours=pl.col("hours").sum() + problem.setup_hours,
            due=pl.col("due_on").min(),
            pressing=pl.col("p_fail").max(),
            there=pl.col("there").max(),
        )
    )
    frame = pl.DataFrame(
        {
            "at": range(len(months)),
            "month": [month.name for month in months],
            "from": [month.first for month in months],
            "days": [month.days for month in months],
            "room": problem.capacity,
        }
    ).with_columns(pl.col("at").cast(pl.Int64))
    done = pl.col("hours").cum_sum().over("at")
    whole = pl.when(pl.col("room").is_finite()).then("room").otherwise(done.max().over("at"))

    def day(hours: pl.Expr) -> pl.Expr:
        share = (hours / pl.col("whole") * pl.col("days")).floor()
        return share.clip(0, pl.col("days") - 1).cast(pl.Int64)

    begun = pl.col("done") - pl.col("hours")
    dated = (
        sessions.join(frame, on="at", how="left", maintain_order="left")
        .with_columns(pl.max_horizontal("there", "from"))
        .sort(
            "at", "there", "due", "pressing", "model", descending=[False, False, False, True, False]
        )
        .with_columns(done=done, whole=whole)
        .with_columns(
            on=pl.col("from") + pl.duration(days=day(begun + 1e-9)),
            to=pl.col("from") + pl.duration(days=day(pl.col("done") - 1e-9)),
        )
        .with_columns(pl.max_horizontal("on", "there"), pl.max_horizontal("to", "there"))
    )
    return dated.select("at", *WORK.names())


def work_of(placed: Placed) -> pl.DataFrame:
    """WORK: a row for each model in each month, with the days of its session."""
    return sessions_of(placed).select(WORK.names())


def days_of(placed: Placed) -> pl.DataFrame:
    """Each row of the jobs with unit and `on`, the first day of its session; null: no place."""
    rows = placed.jobs.select("unit", "model").with_columns(at=pl.Series(placed.month))
    return rows.join(
        sessions_of(placed).select("at", "model", "on"),
        on=["at", "model"],
        how="left",
        maintain_order="left",
    ).select("unit", "on")


_PASSED = (
    " Some less likely to fail come before it: their failures cost more, or they share a session."
)


def jobs_of(placed: Placed, p_fail_before: Floats) -> pl.DataFrame:
    """frames.JOBS in the order in which they are done."""
    names = [month.name for month in placed.months]
    frame = (
        placed.jobs.with_columns(
            days_of(placed)["on"],
            there=placed.not_before,
            at=pl.Series(placed.month),
            cost_of_moving=pl.Series(placed.moving),
            p_fail_before=pl.Series(p_fail_before),
        )
        .filter(pl.col("at") < len(names))
        .with_columns(
            window=pl.col("at").replace_strict(range(len(names)), names, return_dtype=pl.String),
            moved_days=(pl.col("on") - pl.col("due_on")).dt.total_days().cast(pl.Float64),
            cost=pl.col("planned_cost"),
            like=pl.len().over("at", "model"),
        )
        # machines less likely to fail come earlier; of equal ones the later first, so that they
        # are not held against each other
        .sort("p_fail", "at", descending=[False, True])
        .with_columns(
            passed=(pl.col("at").cum_min().shift(1) < pl.col("at")).fill_null(value=False)
        )
    )
    frame = frame.with_columns(reason=_why())
    return frame.sort(
        "on", "model", "due_on", "p_fail", "unit", descending=[False, False, False, True, False]
    ).select(JOBS.names())


def _why() -> pl.Expr:
    others = pl.col("like") - 1
    together = (
        pl.when(others == 1)
        .then(pl.lit(", with one more of its model"))
        .when(others > 1)
        .then(pl.format(", with {} more of its model", others))
        .otherwise(pl.lit(""))
    )
    late = years_said(pl.col("moved_days"))
    early = years_said(-pl.col("moved_days"))
    due = (
        pl.when(pl.col("overdue_days") >= 1.0)
        .then(pl.format("Overdue by {}", years_said(pl.col("overdue_days"))))
        .otherwise(pl.format("Due on {}", day_said(pl.col("due_on"))))
    )
    moved = (
        pl.when(pl.col("moved_days") > 31.0)
        .then(pl.format("; {} after that, when the bench has room or does its model", late))
        .when(pl.col("moved_days") < -31.0)
        .then(pl.format("; {} before that, as its model is at the bench", early))
        .otherwise(pl.lit(""))
    )
    waits = pl.when((pl.col("moved_days") > 31.0) & pl.col("passed")).then(pl.lit(_PASSED))
    parts = pl.when((pl.col("on") == pl.col("there")) & (pl.col("there") > pl.col("due_on"))).then(
        pl.lit(" It is the first day on which its parts can be there.")
    )
    return pl.format(
        "{}{}{}.{}{}",
        due,
        moved,
        together,
        waits.otherwise(pl.lit("")),
        parts.otherwise(pl.lit("")),
    )


def later_of(placed: Placed, end: object) -> pl.DataFrame:
    """LATER: units due within the plan that are left for after it, and why."""
    problem = placed.problem
    hours, money = problem.used(placed.month)
    set_up = problem.sessions(placed.month)[:, : problem.months] > 0.0
    first = np.where(set_up, 0.0, 1.0)[problem.model]
    need = problem.hours[problem.model][:, None] + first * problem.setup_hours
    pay = problem.spend[problem.model][:, None] + first * problem.setup_cost
    short = (need > (problem.capacity - hours)[None, :] + 1e-9).all(axis=1)
    dear = (pay > (problem.purse - money)[None, :] + 1e-9).all(axis=1)
    never = (problem.most(np.ones(problem.model.size))[problem.model, : problem.months] == 0).all(
        axis=1
    )
    reason = np.select(
        [never, short, dear, ~(short | dear)],
        [
            "One job of its model takes more hours or money than any month of the plan has.",
            "No month of the plan has the hours left: machines that lose more by waiting come "
            "first.",
            "No month of the plan has the money left: machines that lose more by waiting come "
            "first.",
            "Getting ready for it within the plan costs more than it loses by waiting until after.",
        ],
        default="",
    )
    return (
        placed.jobs.with_columns(
            cost_of_moving=pl.Series(placed.moving), reason=pl.Series(reason, dtype=pl.String)
        )
        .filter(pl.Series(~placed.planned) & (pl.col("due_on") <= pl.lit(end)))
        .sort("due_on", "p_fail", "unit", descending=[False, True, False])
        .select(LATER.names())
    )


def months_of(placed: Placed, bench: Bench) -> pl.DataFrame:
    """MONTHS: each month of the plan, those without jobs as well."""
    problem, months = placed.problem, placed.months
    hours, money = problem.used(placed.month)
    jobs = np.bincount(placed.month, minlength=len(months) + 1)[: len(months)]

    def free(room: Floats, used: Floats, limit: float | None) -> list[float] | list[None]:
        return [None] * len(months) if limit is None else np.maximum(room - used, 0.0).tolist()

    return pl.DataFrame(
        {
            "month": [month.name for month in months],
            "from": [month.first for month in months],
            "to": [month.last for month in months],
            "jobs": jobs,
            "models": problem.sessions(placed.month)[:, : len(months)].sum(axis=0).astype(int),
            "hours": hours,
            "hours_free": free(problem.capacity, hours, bench.hours),
            "cost": money,
            "budget_free": free(problem.purse, money, bench.budget),
        },
        schema=MONTHS,
    )
