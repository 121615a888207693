"""fleet undo."""

from typing import Annotated

import typer

from fleet.cli.options import Form, Where, Who, today
from fleet.cli.output import print_table
from fleet.cli.words import counted, say


def command(
    *,
    import_id: Annotated[
        str, typer.Argument(metavar="IMPORT", help="Its id, as fleet imports lists it.")
    ],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only list what would be taken back, by kind.")
    ] = False,
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Take a whole import back.

    Its records stay in the store's history, but count no more.

    Example:
        fleet undo i-0002
        fleet undo i-0002 --dry-run
    """
    if dry_run:
        from fleet.flow.importing import look_at_undo

        print_table(look_at_undo(where.store, import_id, today=today()), form)
        say("Nothing was taken back.")
        return
    from fleet.flow.importing import undo_import

    taken = undo_import(where.store, import_id, today=today(), by=who.by)
    say(f"Took back {counted(taken, 'record')} of import {import_id}.")
