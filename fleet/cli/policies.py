"""fleet policies."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.bench_options import BenchGiven
from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    *,
    parts: Annotated[
        Literal["original", "replaced"],
        typer.Option(help="Lives of which parts, over and over: the maker's, or those since."),
    ] = "original",
    risk: Annotated[
        float, typer.Option(metavar="CHANCE", help="The risk limit.", min=0.0001, max=0.9999)
    ] = 0.1,
    within_years: Annotated[
        float,
        typer.Option(metavar="YEARS", help="The risk is counted so far ahead.", min=0.01, max=100),
    ] = 1.0,
    age: Annotated[
        float, typer.Option(metavar="YEARS", help="The fixed age.", min=0.01, max=1000.0)
    ] = 10.0,
    planned_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a planned recap costs, for every model."),
    ] = None,
    failure_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a failure costs, its recap included."),
    ] = None,
    bench: BenchGiven,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say what each rule for renewing parts costs a year, beside running to failure.

    Rules: run to failure; recap at the age that costs least; at a limit to the chance of failing
    soon; at a fixed age; sooner when the machine is open anyway; measure first and recap what
    reads bad. The due list follows one of them with --policy.

    Example:
        fleet policies
        fleet policies --risk 0.05 --within-years 2 --age 12
        fleet policies --parts replaced --as-of 2026-05-31 --json
    """
    from fleet.flow.due import Policy
    from fleet.flow.policies import Asked, policies, rule_names, years_of
    from fleet.flow.table import Settings

    asked = Asked(
        parts=parts,
        risk=Policy(rule="risk", limit=risk, within_years=within_years),
        fixed_years=age,
        every_years=bench.look_years,
        planned_cost=planned_cost,
        failure_cost=failure_cost,
        given=bench.given(),
        sensitivity=bench.sensitivity,
        specificity=bench.specificity,
    )
    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Reckoning what each rule costs"):
        answer = policies(where.store, as_of=when.day, asked=asked, settings=settings)
    frame = years_of(answer.frame)
    empty = "No model has lives and costs to reckon with."
    print_table(frame, form, screen=_screen(frame, rule_names(asked.risk, age)), empty=empty)
    if frame.height and not (form.json or form.csv):
        from fleet.flow.caution import CAUTION

        say(CAUTION)
    say_all(answer.notes)


def _screen(frame: "pl.DataFrame", names: dict[str, str]) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short

    saved = (100.0 * pl.col("saving")).round(0).cast(pl.Int64)
    return frame.select(
        "model",
        pl.col("policy").replace_strict(names, return_dtype=pl.String).alias("rule"),
        pl.coalesce(short(pl.col("age")), pl.lit("never")).alias("planned age (years)"),
        short(pl.col("open_age")).alias("when open, from"),
        short(pl.col("cost")).alias("cost a machine and year"),
        pl.format("{} to {}", short(pl.col("cost_low")), short(pl.col("cost_high"))).alias(
            "90 % limits"
        ),
        pl.format("{} %", saved).alias("saved"),
        short(100.0 * pl.col("failures")).alias("failures in 100 machine years"),
    )
