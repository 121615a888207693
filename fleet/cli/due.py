"""fleet due."""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Ages, Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.answers import Answer


LEVEL = 0.90

_CAUTION = (
    "Before anyone opens or measures a machine: unplug it, wait, measure, discharge through a "
    "resistor, measure again. Local rules say who may work on mains appliances."
)


def command(
    *,
    horizon_years: Annotated[
        float, typer.Option(help="Years ahead for the chance of failing.", min=0.01, max=100.0)
    ] = 2.0,
    new_parts: Annotated[
        Literal["typical", "same"],
        typer.Option(help="What goes in: a typical batch of the model, or the same parts again."),
    ] = "typical",
    planned_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a planned recap costs, for every model."),
    ] = None,
    failure_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a failure costs, its recap included."),
    ] = None,
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.9 means 90 %.", min=0.5, max=0.9999)
    ] = LEVEL,
    ages: Annotated[Ages, typer.Option("--ages", help="Unit of the ages.")] = "years",
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """List every working unit, its chance of failing, and when it is due.

    Costs come from the models' records; without them nothing can be called due. Before any work
    on a board: unplug it, let stored charge drain and measure that it has; local rules and a
    licensed repairer's word go before this list.

    Example:
        fleet due --horizon-years 2
        fleet due --as-of 2026-05-31 --new-parts same --csv
    """
    from fleet.flow.answers import Settings
    from fleet.flow.due import due

    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Working out what is due"):
        answer = due(
            where.store,
            as_of=when.day,
            horizon_years=horizon_years,
            new_parts=new_parts,
            planned_cost=planned_cost,
            failure_cost=failure_cost,
            level=level,
            settings=settings,
        )
    print_due(answer, form, ages=ages, as_of=when.day, level=level)


def print_due(answer: "Answer", form: Form, *, ages: Ages, as_of: date, level: float) -> None:
    """Print a due list whose ages are days, and the sentences with it."""
    import polars as pl

    from fleet.ages import DAYS_PER_YEAR

    frame = answer.frame
    if ages == "years":
        frame = frame.with_columns(pl.col("age", "optimal_age") / DAYS_PER_YEAR)
    frame = frame.with_columns(pl.lit(ages).alias("age_unit"))
    empty = f"No unit is thought to be working as of {as_of.isoformat()}."
    print_table(frame, form, screen=_screen(frame, ages, level), empty=empty)
    if not (form.json or form.csv) and frame.height:
        say(_CAUTION)
    say_all(answer.notes)


def _screen(frame: "pl.DataFrame", ages: Ages, level: float) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import one_batch, percent, percent_between, short

    horizon = frame["horizon_years"][0] if frame.height else 0.0
    ahead = f"fails in {horizon:g} y if it works now"
    return frame.select(
        "unit",
        pl.col("action").str.replace_all("_", " "),
        "due_on",
        percent("p_fail", name=ahead),
        percent_between("p_fail_low", "p_fail_high", name=f"{100 * level:.4g} % limits"),
        short(pl.col("age")).alias(f"age ({ages})"),
        "model",
        one_batch(),
        percent("p_failed_unseen", name="failed unseen"),
        "last_known_working",
        "supported",
        "reason",
    )
