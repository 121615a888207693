"""fleet changed."""

from datetime import date
from typing import Annotated

import typer

from fleet.cli.options import Form, When, Where, read_day
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all


def command(
    *,
    since: Annotated[
        date,
        typer.Option(
            "--since",
            parser=read_day,
            metavar="DATE",
            help="The day to compare with: what was known when it ended.",
        ),
    ],
    batches: Annotated[
        bool,
        typer.Option("--batches/--no-batches", help="Verdicts on batches too, which take longest."),
    ] = True,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say what changed since a day: new reports, machines now due or gone, other verdicts.

    Both days are answered from what was known on each, so a report dated earlier and entered
    later counts as new.

    Keys of --json, a row each: what (new_report, corrected_report, withdrawn_report, became_due,
    no_longer_due, left_list, joined_list, other_advice, other_verdict), name (the unit, or the
    batch), model, on, before, after, sentence.

    Example:
        fleet changed --since 2026-05-31
        fleet changed --since 2026-01-01 --as-of 2026-06-30 --json
        fleet changed --since 2026-05-31 --no-batches
    """
    import polars as pl

    from fleet.flow.changed import changed
    from fleet.flow.changed_rows import WHAT

    with busy("Holding the two days side by side"):
        found = changed(where.store, since=since, as_of=when.day, batches=batches)
    words = {key: one for key, (one, _) in WHAT.items()}
    screen = found.frame.select(
        pl.col("what").replace(words), "name", "model", "on", "before", "after"
    )
    print_table(found.frame, form, screen=screen, empty="Nothing changed.")
    say_all(found.said)
