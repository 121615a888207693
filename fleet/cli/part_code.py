"""fleet part code."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    code: Annotated[str, typer.Argument(metavar="CODE", help="As printed on the part.")],
    *,
    model: Annotated[
        str | None, typer.Option(help="The machine's model, whose build years narrow it.")
    ] = None,
    not_a_capacitor: Annotated[
        bool,
        typer.Option(
            "--not-a-capacitor",
            help="It is printed on something else: letters are not read, only digits.",
        ),
    ] = False,
    voltage: Annotated[
        float | None, typer.Option(help="Rated, of a part from a shelf: how to reform it.")
    ] = None,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say what a date code can mean: every reading with its scheme, never one guess.

    With a model: which readings a factory part can have, and which only a later repair. Without
    one: what to do with such a part that has lain on a shelf.

    Example:
        fleet part code 0412 --model BM-2
        fleet part code R3
    """
    from fleet.flow.part_code import part_code

    store = where.store if model is not None else None
    answer = part_code(
        store,
        code,
        as_of=when.day,
        model=model,
        on_capacitor=not not_a_capacitor,
        rated_volts=voltage,
    )
    print_table(answer.frame, form, screen=_screen(answer.frame))
    say_all(answer.notes)


def _screen(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short

    fits = [] if frame["fits"].null_count() else [pl.col("fits").alias("can be")]
    return frame.select(
        "earliest",
        "latest",
        pl.format("{} to {}", short(pl.col("age_low")), short(pl.col("age_high"))).alias(
            "age (years)"
        ),
        "scheme",
        pl.when("usual").then(pl.lit("yes")).otherwise(pl.lit("seldom met")).alias("usual"),
        *fits,
    )
