"""fleet export."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from fleet.cli.options import Form, Where, Who, today
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all


def command(
    *,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Made if it is not there.")],
    file_form: Annotated[
        Literal["csv", "xlsx", "parquet"], typer.Option("--form", help="Form of the files.")
    ] = "csv",
    photos: Annotated[
        bool, typer.Option("--photos", help="Write photos too, into a folder of their own.")
    ] = False,
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Write every record to files that import reads back.

    Amendments and their dates are written too: importing the folder into a new store loses
    nothing but what is private. Notes of units and reports are written as they are: read them
    before you pass the files on. An owner's private notes are never written (a backup keeps
    them), photos only with --photos.

    Example:
        fleet export club_records --form xlsx
    """
    from fleet.flow.copies import export_store

    with busy(f"Writing records to {folder}"):
        written = export_store(
            where.store, folder, form=file_form, photos=photos, today=today(), by=who.by
        )
    print_table(written.files, form, empty="The store holds no records.")
    say_all(written.notes)
