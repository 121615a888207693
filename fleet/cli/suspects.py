"""fleet suspects."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl

LEVEL = 0.90


def command(
    *,
    shares: Annotated[
        bool,
        typer.Option(
            "--shares", help="How much of the variation of life lies where, instead of the list."
        ),
    ] = False,
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.9 means 90 %.", min=0.5, max=0.9999)
    ] = LEVEL,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say whether batches or the design end the machines, the most suspect batches first.

    Each batch is held against the other batches of its model; effect is how many times as long
    it lasts as a typical batch. A batch is called shorter-lived where a test of all batches looked
    at and the estimate, drawn towards its model where failures are few, both say so. Original and
    replaced parts are kept apart.

    Keys of --shares --json, a row each: parts (original or replaced); model (null: all models
    together); part_of_life, where the variation lies (model: between models; batch: between
    batches of a model; chance: within a batch; position: between positions, of single capacitors
    of one batch); share (0 to 1 of the variance of log life), share_low, share_high (its limits;
    null for positions, whose share is rough).

    Example:
        fleet suspects
        fleet suspects --as-of 2026-05-31 --json
        fleet suspects --shares
    """
    from fleet.flow.suspects import suspects
    from fleet.flow.table import Settings

    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Holding batches against one another"):
        found = suspects(where.store, as_of=when.day, level=level, settings=settings)
    frame = found.shares if shares else found.frame
    screen = _share_screen(frame, level) if shares else _screen(frame, level)
    empty = "Nothing to compare." if found.words else "There are no lives to compare."
    print_table(frame, form, screen=screen, empty=empty)
    say_all(found.words)
    say_all(found.notes)


def _screen(frame: "pl.DataFrame", level: float) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short, with_limits

    return frame.select(
        "level",
        "name",
        pl.when(pl.col("level") != "model").then("model").alias("model"),
        "parts",
        short(pl.col("lives")).alias("lives"),
        short(pl.col("failures")).alias("failures"),
        with_limits("effect", name=f"times as long ({100 * level:.4g} % limits)"),
        "verdict",
    )


def _share_screen(frame: "pl.DataFrame", level: float) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between

    return frame.select(
        pl.col("model").fill_null("all models"),
        "parts",
        pl.col("part_of_life")
        .replace(
            {
                "model": "between models",
                "batch": "between batches",
                "chance": "within a batch",
                "position": "between positions (of single capacitors)",
            }
        )
        .alias("lies"),
        percent("share"),
        percent_between("share_low", "share_high", name=f"{100 * level:.4g} % limits"),
    )
