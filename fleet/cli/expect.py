"""fleet expect."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl

LEVEL = 0.90


def command(
    *,
    quarters: Annotated[
        int,
        typer.Option(
            help="Calendar quarters ahead; the first is what is left of this one.", min=1, max=120
        ),
    ] = 8,
    by: Annotated[
        Literal["each", "model", "quarter"],
        typer.Option(
            help="A row for each model in each quarter; for each model, all quarters together; or "
            "for each quarter, all models together."
        ),
    ] = "each",
    again: Annotated[
        bool,
        typer.Option("--again", help="Count new parts too where they fail in their turn (once)."),
    ] = False,
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.9 means 90 %.", min=0.5, max=0.9999)
    ] = LEVEL,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say how many machines will fail in each quarter to come, to buy parts by.

    Counted are machines thought to work, by their capacitors, if nothing is done. The limits are
    of the number that will fail: what is not known of lives, and luck. They hold somewhat more
    often than they say, since numbers of machines are whole.

    Example:
        fleet expect
        fleet expect --quarters 12 --by model
        fleet expect --as-of 2026-05-31 --again --json
    """  # fmt: skip
    from fleet.flow.expected import expected_failures
    from fleet.flow.table import Settings

    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Counting failures to come"):
        found = expected_failures(
            where.store,
            as_of=when.day,
            quarters=quarters,
            level=level,
            again=again,
            settings=settings,
        )
    frame = {"each": found.frame, "model": found.models, "quarter": found.quarters}[by]
    empty = f"No unit is thought to be working as of {when.day.isoformat()}."
    print_table(frame, form, screen=_screen(frame, by, level), empty=empty)
    say_all([*(() if frame.is_empty() else found.said), *found.notes])


def _screen(frame: "pl.DataFrame", by: str, level: float) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short

    limits = pl.format(
        "{} to {}", pl.col("low").cast(pl.Int64), pl.col("high").cast(pl.Int64)
    ).alias(f"{100 * level:.4g} % limits")
    names = [] if by == "quarter" else [pl.col("model").fill_null("all models")]
    return frame.select(
        *names,
        pl.col("quarter_from").alias("from"),
        pl.col("quarter_to").alias("to"),
        short(pl.col("expected")).alias("failures expected"),
        limits,
        pl.col("units").alias("machines"),
        short(pl.col("already_failed")).alias("failed unseen already"),
    )
