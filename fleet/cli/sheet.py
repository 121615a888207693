"""fleet sheet."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import When, Where
from fleet.cli.output import write_out
from fleet.cli.words import busy, say, say_all


def command(
    *,
    units: Annotated[
        list[str] | None,
        typer.Argument(metavar="UNIT", help="The machine on the bench, or several: a file each."),
    ] = None,
    model: Annotated[
        str | None,
        typer.Option("--model", metavar="MODEL", help="A sheet for any unit of this model."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Where to write it; of several machines a folder, made where there is none. "
            "Without it: sheet-UNIT.html here.",
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
        fleet sheet TL-014 TL-017 --out bench
        fleet sheet --model BM-2 --out bench/BM-2.html --force
    """
    if bool(units) == (model is not None):
        raise typer.BadParameter("name a unit, or a model with --model", param_hint="UNIT")
    from fleet.errors import BadInput
    from fleet.flow.bench_sheet import bench_sheet, bench_sheets
    from fleet.flow.caution import CAUTION
    from fleet.sheets.bench_sheet import bench_sheet_page
    from fleet.sheets.kept import keep, refuse_taken

    names = [model] if model is not None else list(dict.fromkeys(units or ()))
    paths = _paths(names, out)
    folder = out if out is not None and len(names) > 1 and not out.is_dir() else None
    if folder is not None and not folder.parent.is_dir():
        raise BadInput(f"there is no folder {folder.parent}; make it first")
    for path in paths if folder is None else ():
        refuse_taken(path, force=force, endings=(".html",))
    with busy("Gathering the bench sheet"):
        sheets = (
            bench_sheets(where.store, names, as_of=when.day)
            if model is None
            else (bench_sheet(where.store, as_of=when.day, model=model),)
        )
        pages = [bench_sheet_page(sheet) for sheet in sheets]
        if folder is not None:
            folder.mkdir()
        for page, path in zip(pages, paths, strict=True):
            keep(page, path, force=force, endings=(".html",))
    write_out(f"{path}\n" for path in paths)
    say("Open it in a browser and print it; bring the result back with the line at its end.")
    say(CAUTION)
    say_all(note for sheet in sheets for note in sheet.notes)


def _paths(names: list[str], out: Path | None) -> list[Path]:
    """Where each sheet goes, several into the folder `out`; UsageError where two would go into
    one file, or the folder is a file.
    """
    from fleet.sheets.bench_sheet import file_name

    if out is not None and len(names) == 1:
        paths = [out]
    elif out is not None and out.exists() and not out.is_dir():
        raise typer.BadParameter(
            f"{out} is a file; {len(names)} sheets need a folder", param_hint="--out"
        )
    else:
        paths = [(out or Path()) / file_name(name) for name in names]
    if len(set(paths)) < len(paths):
        raise typer.BadParameter(
            "two of these names make one file name; write them one by one with --out",
            param_hint="UNIT",
        )
    return paths
