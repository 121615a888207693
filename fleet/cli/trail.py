"""fleet trail."""

from datetime import date
from typing import Annotated

import typer

from fleet.cli.options import Form, Where, read_day
from fleet.cli.output import print_table
from fleet.cli.words import say_all


def command(
    *,
    unit: Annotated[
        str | None,
        typer.Option("--unit", metavar="UNIT", help="Of one machine: any part of its name."),
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Of one person, by their whole name.")
    ] = None,
    since: Annotated[
        date | None,
        typer.Option("--since", parser=read_day, metavar="DATE", help="That day and later."),
    ] = None,
    where: Where,
    form: Form,
) -> None:
    """Say who did what, when and through which command or page.

    Nothing here can be changed or removed: a correction or an undo is one line more.

    Example:
        fleet trail --since 2026-05-01
        fleet trail --unit U-007 --json
    """
    from fleet.flow.known import known_records
    from fleet.flow.one_machine import find_unit
    from fleet.flow.trail import in_words, trail

    name = None
    if unit is not None:
        name = find_unit(known_records(where.store, ("units",), as_of=None)["units"], unit)
    rows = trail(where.store, unit=name, by=by, since=since)
    print_table(rows, form, empty="Nothing was written, or nothing that was asked for.")
    say_all(in_words(rows))
