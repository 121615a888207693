"""fleet due."""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Ages, Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.policy_options import Rule
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.answers import Answer
    from fleet.flow.due import Prior


LEVEL = 0.90


def command(
    *,
    horizon_years: Annotated[
        float, typer.Option(help="Years ahead for the chance of failing.", min=0.01, max=100.0)
    ] = 2.0,
    new_parts: Annotated[
        str,
        typer.Option(
            metavar="WHAT",
            help="What goes in: typical (a typical batch of the model), same (the same parts "
            "again), a number (their typical life in years), or a part of the offers, whose life "
            "is reckoned from its data (NAME@55: in air of 55 °C).",
        ),
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
    estimate: Annotated[
        Literal["posterior", "likelihood", "both"],
        typer.Option(help="What it rests on; both: maximum likelihood beside the posterior."),
    ] = "posterior",
    no_wear_out_share: Annotated[
        float | None,
        typer.Option(help="Share of models taken not to wear out.", min=0.0, max=1.0),
    ] = None,
    wear_out_shape: Annotated[
        float | None,
        typer.Option(help="Shape around which the others wear out.", min=1.0, max=20.0),
    ] = None,
    typical_life: Annotated[
        float | None,
        typer.Option(help="Years around which scales lie.", min=0.5, max=200.0),
    ] = None,
    first: Annotated[
        int | None, typer.Option(help="Only so many, the most urgent.", min=1, metavar="NUMBER")
    ] = None,
    reasons: Annotated[
        bool, typer.Option("--reasons", help="On the screen, each reason in full.")
    ] = False,
    rule: Rule,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """List every working unit, its chance of failing, and when it is due.

    The answer is a posterior: what the reports say, beside what is held before any report, which
    the last options change. Few reports lean on it, many do not.

    Costs come from the models' records; without them nothing can be called due. Before any work
    on a board: unplug it, let stored charge drain and measure that it has; local rules and a
    licensed repairer's word go before this list.

    Example:
        fleet due --horizon-years 2
        fleet due --as-of 2026-05-31 --new-parts same --csv
        fleet due --new-parts 15
        fleet due --policy risk --risk 0.1 --within-years 1
        fleet due --estimate both --no-wear-out-share 0.3
    """
    from fleet.flow.answers import Settings
    from fleet.flow.due import due

    held = (no_wear_out_share, wear_out_shape, typical_life)
    if estimate == "likelihood" and any(number is not None for number in held):
        raise typer.BadParameter(
            "what is held before any report has no effect on maximum likelihood; leave the option "
            "out, or leave out --estimate likelihood"
        )
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
            estimate=estimate,
            prior=_prior(*held),
            settings=settings,
            policy=rule.chosen(),
        )
    print_due(answer, form, ages=ages, as_of=when.day, level=level, first=first, reasons=reasons)


def _prior(share: float | None, shape: float | None, years: float | None) -> "Prior":
    """The usual prior with what was given changed."""
    from dataclasses import replace

    from fleet.flow.due import Prior

    prior = Prior()
    if share is not None:
        prior = prior.with_share(share)
    if shape is not None:
        prior = replace(prior, wear_out_shape=(shape, prior.wear_out_shape[1]))
    if years is not None:
        prior = replace(prior, scale_years=(years, prior.scale_years[1]))
    return prior


def print_due(
    answer: "Answer",
    form: Form,
    *,
    ages: Ages,
    as_of: date,
    level: float,
    first: int | None = None,
    reasons: bool = False,
) -> None:
    """Print a due list whose ages are days, and the sentences with it: the `first` rows, and on
    the screen the first sentence of each reason unless `reasons`.
    """
    import polars as pl

    from fleet.ages import DAYS_PER_YEAR

    frame = answer.frame if first is None else answer.frame.head(first)
    if ages == "years":
        aged = [c for c in frame.columns if c == "age" or c.startswith("optimal_age")]
        frame = frame.with_columns(pl.col(aged) / DAYS_PER_YEAR)
    frame = frame.with_columns(pl.lit(ages).alias("age_unit"))
    empty = f"No unit is thought to be working as of {as_of.isoformat()}."
    print_table(frame, form, screen=_screen(frame, ages, level, reasons=reasons), empty=empty)
    if not (form.json or form.csv) and frame.height:
        from fleet.flow.caution import CAUTION

        say(CAUTION)
        more = answer.frame.height - frame.height
        if more:
            say(f"{more:,} more units are less urgent; without --first all are listed.")
        if not reasons:
            say("The column why is the beginning of the reason; --reasons prints all of it.")
    say_all(answer.notes)
    if not (form.json or form.csv) and frame.height:
        say("Next: fleet choose UNIT weighs what could be done with one, fleet plan says in which "
            "month each is done.")  # fmt: skip


def _screen(frame: "pl.DataFrame", ages: Ages, level: float, *, reasons: bool) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import one_batch, percent, percent_between, short

    horizon = frame["horizon_years"][0] if frame.height else 0.0
    ahead = f"fails in {horizon:g} y if it works now"
    beside: list[str | pl.Expr] = []
    if "due_on_by_likelihood" in frame.columns:
        beside = [
            "due_on_by_likelihood",
            percent("p_fail_by_likelihood", name="fails, by likelihood"),
        ]
    return frame.select(
        "unit",
        pl.col("action").str.replace_all("_", " "),
        "due_on",
        percent("p_fail", name=ahead),
        percent_between("p_fail_low", "p_fail_high", name=f"{100 * level:.4g} % limits"),
        *beside,
        short(pl.col("age")).alias(f"age ({ages})"),
        "model",
        one_batch(),
        percent("p_failed_unseen", name="failed unseen"),
        "last_known_working",
        "supported",
        pl.col("reason") if reasons else _begun(pl.col("reason")),
    )


def _begun(reason: "pl.Expr") -> "pl.Expr":
    """The first sentence of a reason, as `why`."""
    return reason.str.extract(r"^(.*?\D\.)( |$)|^(.*)$", 1).fill_null(reason).alias("why")
