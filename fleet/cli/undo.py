"""fleet undo."""

from typing import Annotated

import typer

from fleet.cli.options import Where, Who, today
from fleet.cli.words import counted, say


def command(
    *,
    import_id: Annotated[
        str, typer.Argument(metavar="IMPORT", help="Its id, as fleet imports lists it.")
    ],
    who: Who,
    where: Where,
) -> None:
    """Take a whole import back.

    Its records stay in the store's history, but count no more.

    Example:
        fleet undo 3f2a9c
    """
    from fleet.flow.importing import undo_import

    taken = undo_import(where.store, import_id, today=today(), by=who.by)
    say(f"Took back {counted(taken, 'record')} of import {import_id}.")
