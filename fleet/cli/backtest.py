"""fleet backtest."""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, Reading, When, Where, read_day
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    *,
    horizon_years: Annotated[
        float, typer.Option(help="Years ahead of each past day.", min=0.01, max=100.0)
    ] = 2.0,
    first: Annotated[
        date | None,
        typer.Option(
            "--from",
            parser=read_day,
            metavar="DATE",
            help="No past day before this one.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        float,
        typer.Option(metavar="YEARS", help="Time between past days.", min=1 / 12, max=100.0),
    ] = 1.0,
    by: Annotated[
        Literal["day", "model", "chance"],
        typer.Option(help="A row for each past day, each model, or each size of chance."),
    ] = "day",
    fixed_age: Annotated[
        float,
        typer.Option(metavar="YEARS", help="The plain rule beside the advice.", min=0.01, max=100),
    ] = 10.0,
    new_parts: Annotated[
        Literal["typical", "same"],
        typer.Option(help="What goes in: a typical batch of the model, or the same parts again."),
    ] = "typical",
    as_dated: Annotated[
        bool,
        typer.Option(
            "--as-dated", help="Count every record as entered on its own date, not when it was."
        ),
    ] = False,
    estimate: Annotated[
        Literal["posterior", "likelihood"],
        typer.Option(help="What the due lists of past days rest on, as in fleet due."),
    ] = "posterior",
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.9 means 90 %.", min=0.5, max=0.9999)
    ] = 0.90,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say how well past advice did: chances and dates of past days beside what happened.

    On each past day only what had been entered by then counts. Shares and chances are of machines
    thought to work then; costs are per machine and year, had every date been kept. Nothing is
    written.

    Example:
        fleet backtest
        fleet backtest --from 2018-01-01 --every 0.5 --by model
        fleet backtest --horizon-years 1 --by chance --json
        fleet backtest --estimate likelihood
    """
    from fleet.flow.backtest import Asked, look_back
    from fleet.flow.table import Settings

    asked = Asked(
        horizon_years=horizon_years,
        every_years=every,
        first=first,
        fixed_age_years=fixed_age,
        new_parts=new_parts,
        level=level,
        as_dated=as_dated,
        estimate=estimate,
        settings=Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as),
    )
    with busy("Going back to each past day"):
        found = look_back(where.store, as_of=when.day, asked=asked)
    frame = {"day": found.days, "model": found.together, "chance": found.bins}[by]
    screen = _bins(frame) if by == "chance" else _scores(frame, by)
    print_table(frame, form, screen=screen, empty="No past day can be looked back on.")
    say_all([*found.said, *found.notes])


def _scores(frame: "pl.DataFrame", by: str) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between, short

    first = (
        pl.col("as_of") if by == "day" else pl.col("model").fill_null("all models").alias("model")
    )
    fixed = frame["fixed_age_years"][0] if frame.height else 0.0
    return frame.select(
        first,
        "units",
        percent("predicted", name="expected to fail"),
        percent("happened", name="failed"),
        percent_between("happened_low", "happened_high", name="limits"),
        *([] if by == "model" else _numbers()),
        short(pl.col("brier")).alias("score"),
        short(pl.col("brier_reference")).alias("score of counting"),
        short(pl.col("cost")).alias("cost a year"),
        short(pl.col("cost_run_to_failure")).alias("never in advance"),
        short(pl.col("cost_fixed_age")).alias(f"at {fixed:g} years"),
        percent("followed"),
        percent("reconstructed_share", name="no day of entry"),
    )


def _numbers() -> "tuple[pl.Expr, pl.Expr]":
    """How many failed, beside the limits of how many were to be expected of those followed."""
    import polars as pl

    from fleet.cli.screen import short

    low, high = (pl.col(f"expected_{end}").cast(pl.Int64) for end in ("low", "high"))
    return (
        pl.format("{} to {}", low, high).alias("number expected"),
        short(pl.col("failures")).alias("number failed"),
    )


def _bins(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between

    return frame.select(
        percent_between("chance_from", "chance_to", name="chances"),
        percent("predicted", name="expected to fail"),
        percent("happened", name="failed"),
        percent_between("happened_low", "happened_high", name="limits"),
        pl.col("cases").round(0).cast(pl.Int64).alias("chances given"),
        "machines",
    )
