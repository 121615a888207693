"""fleet rejects."""

from typing import Annotated

import typer

from fleet.cli.options import Form, Where
from fleet.cli.output import print_table


def command(
    *,
    import_id: Annotated[
        str | None, typer.Argument(metavar="IMPORT", help="Only those of one import.")
    ] = None,
    where: Where,
    form: Form,
) -> None:
    """List the rows that imports refused, each with its reason.

    Refused rows are kept for good, so that a row mended in its file can be compared.

    Example:
        fleet rejects 3f2a9c --csv
    """
    from fleet.flow.importing import list_rejects

    print_table(list_rejects(where.store, import_id), form, empty="No row was refused.")
