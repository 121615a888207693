"""fleet sheet."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import When, Where
from fleet.cli.output import write_out
from fleet.cli.words import busy, say, say_all


def command(
    *,
    unit: Annotated[
        str | None, typer.Argument(metavar="UNIT", help="The machine on the bench.")
    ] = None,
    model: Annotated[
        str | None,
        typer.Option("--model", metavar="MODEL", help="A sheet for any unit of this model."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="FILE", help="Where to write it. Without it: sheet-UNIT.html here."
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over a file that is there already.")
    ] = False,
    when: When,
    where: Where,
) -> None:
    """Write the bench sheet of a machine: cautions, parts, places, checks, room to write.

    The file is HTML that needs nothing else: open it in a browser and print it, on A4 or Letter.
    Steps that are particular to a model or a machine are kept with fleet add step.

    Example:
        fleet sheet TL-014
        fleet sheet --model BM-2 --out bench/BM-2.html --force
    """
    if (unit is None) == (model is None):
        raise typer.BadParameter("name one unit, or a model with --model", param_hint="UNIT")
    from fleet.flow.bench_sheet import bench_sheet
    from fleet.flow.caution import CAUTION
    from fleet.sheets.bench_sheet import bench_sheet_page, file_name
    from fleet.sheets.kept import keep, refuse_taken

    path = out or Path(file_name(unit or model or ""))
    refuse_taken(path, force=force)
    with busy("Gathering the bench sheet"):
        sheet = bench_sheet(where.store, as_of=when.day, unit=unit, model=model)
        keep(bench_sheet_page(sheet), path, force=force)
    write_out(iter([f"{path}\n"]))
    say(CAUTION)
    say_all(sheet.notes)
