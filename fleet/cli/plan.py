"""fleet plan."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.policy_options import Rule
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.plan import Plan


def command(
    *,
    months: Annotated[
        int,
        typer.Option(help="How many; the first is what is left of this one.", min=1, max=120),
    ] = 24,
    hours_per_month: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="At the bench. Without it: as the shop's records say."),
    ] = None,
    budget: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="For a month's jobs. Without it: as recorded."),
    ] = None,
    lose: Annotated[
        str | None,
        typer.Option(
            metavar="MONTH",
            help="A month without hours, like 2026-09: what changes. Without it the fullest.",
        ),
    ] = None,
    by: Annotated[
        Literal["job", "month"],
        typer.Option(help="A row for each job, or for each month; events of the calendar too."),
    ] = "job",
    calendar: Annotated[
        Path | None,
        typer.Option(metavar="FILE.ics", help="Write the dates to a calendar file as well."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over the calendar file if it is there.")
    ] = False,
    new_parts: Annotated[
        str, typer.Option(metavar="WHAT", help="What goes in, as for `fleet due`.")
    ] = "typical",
    planned_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a planned recap costs, for every model."),
    ] = None,
    failure_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a failure costs, its recap included."),
    ] = None,
    rule: Rule,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Plan the recaps that are due: which machine in which month, within the bench's hours.

    Like machines are done together, and a job is moved only where that costs less than it saves.
    Before any work on a board: unplug it, let stored charge drain and measure that it has; local
    rules and a licensed repairer's word go before this plan.

    Example:
        fleet plan
        fleet plan --months 12 --hours-per-month 20 --by month
        fleet plan --as-of 2026-05-31 --lose 2026-09 --calendar bench.ics
    """
    from fleet.flow.plan import plan
    from fleet.flow.table import Settings

    if calendar is not None:
        from fleet.sheets.kept import refuse_taken

        refuse_taken(calendar, force=force, endings=(".ics",))
    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Planning"):
        found = plan(
            where.store,
            as_of=when.day,
            months=months,
            hours_per_month=hours_per_month,
            budget=budget,
            lose=lose,
            new_parts=new_parts,
            planned_cost=planned_cost,
            failure_cost=failure_cost,
            policy=rule.chosen(),
            settings=settings,
        )
    frame = found.jobs if by == "job" else found.months
    screen = _jobs(found.jobs) if by == "job" else _months(found)
    print_table(frame, form, screen=screen, empty="No job is planned.")
    if calendar is not None:
        from fleet.sheets.calendar_file import calendar_file
        from fleet.sheets.kept import keep

        kept = by if by == "job" else "month"
        content = calendar_file(found.jobs, found.work, as_of=when.day, by=kept)
        keep(content, calendar, force=force, endings=(".ics",))
        say(f"The dates are in {calendar}.")
    say_all(found.said)
    _not_in_it(found, form)
    say_all(found.notes)
    if frame.height and not (form.json or form.csv):
        from fleet.flow.caution import CAUTION

        say(CAUTION)


def _not_in_it(found: "Plan", form: Form) -> None:
    """On the screen, the machines that are due and not planned, by name."""
    if form.json or form.csv:
        return
    for row in found.later.head(10).iter_rows(named=True):
        say(f"{row['unit']} ({row['model']}), due {row['due_on']}: {row['reason']}")
    if found.later.height > 10:
        say(f"{found.later.height - 10:,} more are left for later.")


def _jobs(jobs: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, short

    beside = [c for c in ("on_if_lost",) if c in jobs.columns]
    return jobs.select(
        "on",
        "unit",
        "model",
        "due_on",
        pl.col("moved_days").cast(pl.Int64).alias("moved (days)"),
        short(pl.col("hours")).alias("hours"),
        short(pl.col("cost")).alias("cost"),
        pl.col("cost_of_moving").round(2).cast(pl.String).alias("moving costs"),
        percent("p_fail_before", name="fails before"),
        *beside,
        "reason",
    )


def _months(found: "Plan") -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short

    models = (
        found.work.sort("month", "on")
        .group_by("month", maintain_order=True)
        .agg(pl.format("{} x {}", "jobs", "model").str.join(", ").alias("work"))
    )
    return (
        found.months.join(models, on="month", how="left", maintain_order="left")
        .select(
            "month",
            pl.col("jobs"),
            pl.col("work").fill_null(""),
            short(pl.col("hours")).alias("hours"),
            short(pl.col("hours_free")).fill_null("no limit").alias("hours free"),
            short(pl.col("cost")).alias("cost"),
            short(pl.col("budget_free")).fill_null("no limit").alias("money free"),
        )
    )  # fmt: skip
