"""fleet restore."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import Form, Where, Who, today
from fleet.cli.output import print_table
from fleet.cli.words import busy, say


def command(
    *,
    backup: Annotated[Path, typer.Argument(metavar="FILE", help="What fleet backup wrote.")],
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Make a store from a backup.

    The store must not be there yet: nothing is overwritten.

    Example:
        fleet restore club-2026-05-31.duckdb --store club.duckdb
    """
    from fleet.flow.copies import restore_store

    with busy(f"Copying {backup}"):
        counts = restore_store(backup, where.store, today=today(), by=who.by)
    print_table(counts, form, empty="The backup holds no records.")
    say(f"{where.store} now holds what {backup} holds.")
