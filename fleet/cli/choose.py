"""fleet choose."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.bench_options import BenchGiven
from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.price_options import PriceTold
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    unit: Annotated[str, typer.Argument(help="The machine.", metavar="UNIT")],
    *,
    years: Annotated[
        int, typer.Option(help="Over how many years costs are counted.", min=1, max=40)
    ] = 10,
    no_leftover: Annotated[
        bool,
        typer.Option(
            "--no-leftover",
            help="Parts still good after those years are worth nothing: it is not needed then.",
        ),
    ] = False,
    failed: Annotated[
        bool, typer.Option("--failed", help="It does not work, whatever was reported.")
    ] = False,
    new_life: Annotated[
        float | None,
        typer.Option(metavar="YEARS", help="Typical life of what a recap puts in.", min=0.1),
    ] = None,
    new_machine_life: Annotated[
        float | None,
        typer.Option(metavar="YEARS", help="Typical life of a new machine's capacitors.", min=0.1),
    ] = None,
    prices: PriceTold,
    bench: BenchGiven,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say whether to keep, recap or replace one machine, and what would flip the choice.

    For each way its cost per year of service and the chance of no failure, over the years asked
    for. Later the same rule holds whatever is done first: new parts are renewed at their best age
    or when they fail. Parts still good at the end are counted at what they are worth.

    Example:
        fleet choose S-081
        fleet choose S-081 --years 5 --price-used 60 --used-parts-age 15
        fleet choose S-081 --failed --beyond-repair 0.3 --json
    """
    from fleet.flow.choose import Asked, choose, known_of
    from fleet.flow.table import Settings

    asked = Asked(
        years=years,
        leftover=not no_leftover,
        failed=failed,
        new_life=new_life,
        new_machine_life=new_machine_life,
        look_years=bench.look_years,
        sensitivity=bench.sensitivity,
        specificity=bench.specificity,
    )
    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Weighing what could be done"):
        found = choose(
            known_of(where.store, as_of=when.day, settings=settings),
            unit,
            asked=asked,
            told=prices.told(),
            given=bench.given(),
        )
    print_table(found.frame, form, screen=_screen(found.frame, years), empty="No option.")
    if not (form.json or form.csv):
        from fleet.flow.caution import CAUTION

        say(CAUTION)
    say_all((*found.said, *found.turned, *found.notes, found.next_step))


def _screen(frame: "pl.DataFrame", years: int) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between, short
    from fleet.flow.choose_words import remark

    span = "1 year" if years == 1 else f"{years} years"
    return frame.select(
        pl.col("what").alias("what to do"),
        short(pl.col("cost_per_year")).alias("cost a year of service"),
        pl.format("{} to {}", short(pl.col("cost_low")), short(pl.col("cost_high"))).alias(
            "90 % limits"
        ),
        short(pl.col("pay_now")).alias("to pay now"),
        short(pl.col("years_of_service")).alias("years of service"),
        percent("p_no_failure", name=f"no failure in {span}"),
        percent_between("p_no_failure_low", "p_no_failure_high", name="limits of that"),
        remark().alias("remark"),
    )
