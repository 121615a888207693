"""fleet backup."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import Form, Where, Who, today
from fleet.cli.output import print_table
from fleet.cli.words import busy, say


def command(
    *,
    target: Annotated[Path, typer.Argument(metavar="FILE", help="A file that is not there yet.")],
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Copy the store to a file and prove the copy by counting.

    Example:
        fleet backup club-2026-05-31.duckdb
    """
    from fleet.flow.copies import back_up

    with busy(f"Copying {where.store}"):
        counts = back_up(where.store, target, today=today(), by=who.by)
    print_table(counts, form, empty="The store holds no records.")
    say(f"{target} was opened again and holds the same records as {where.store}.")
