"""fleet lives."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Ages, Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    *,
    by: Annotated[
        Literal["position"] | None,
        typer.Option("--by", help="A life for each position where positions are known."),
    ] = None,
    ages: Annotated[Ages, typer.Option("--ages", help="Unit of the ages.")] = "years",
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Print the life table: how long each set of capacitors has lasted.

    Each row is one set in one unit, with the ids of the reports it was read from. A set that is
    still good ends at the last report of it working, never at today.

    Example:
        fleet lives --by position --json
    """
    import polars as pl

    from fleet.flow.answers import Settings, in_years, lives

    settings = Settings(
        unknown_cause=reading.unknown_cause,
        degraded_as=reading.degraded_as,
        by_position=by == "position",
    )
    with busy("Building the life table"):
        table = lives(where.store, as_of=when.day, settings=settings)
    if ages == "years":
        table = in_years(table)
    frame = table.lives.with_columns(
        pl.col("reports").str.split(";"), pl.lit(ages).alias("age_unit")
    )
    print_table(frame, form, screen=_screen(frame, ages), empty="No life can be read yet.")
    say_all(table.notes)
    if not table.left_out.is_empty():
        left = table.left_out.height
        say_all([f"{left} left out of the lives; `fleet check` says why."])


def _screen(frame: "pl.DataFrame", ages: Ages) -> "pl.DataFrame":
    from fleet.cli.screen import one_batch

    first = ["unit", "model", "set_no", "entry", "low", "high", "known_by", "count", "end"]
    if frame["position"].is_not_null().any():
        first.insert(1, "position")
    shown = frame.select(*first, "parts", one_batch(), "source", "reports")
    return shown.rename({name: f"{name} ({ages})" for name in ("entry",)})
