"""fleet import."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, Where, Who, today
from fleet.cli.output import print_table
from fleet.cli.words import busy, counted, say, say_all

if TYPE_CHECKING:
    from fleet.flow.importing import Imported

_REJECTS_SHOWN = 10


def command(
    *,
    files: Annotated[list[Path], typer.Argument(metavar="FILE", help="Files, or folders of them.")],
    kind: Annotated[
        str | None,
        typer.Option(
            "--as",
            metavar="KIND",
            help="What the rows are (units, reports, ...), where the file's name does not say.",
        ),
    ] = None,
    alias: Annotated[
        list[str] | None,
        typer.Option(
            "--alias", metavar="NAME=MODEL", help="Read a model's name as another; repeatable."
        ),
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column",
            metavar="THEIRS=OURS",
            help="Read a column as one of ours; THEIRS= leaves it out; repeatable.",
        ),
    ] = None,
    source: Annotated[
        str | None,
        typer.Option("--source", metavar="NAME", help="Who collected rows that do not say."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would happen; nothing is written.")
    ] = False,
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit with 1 when a row was refused.")
    ] = False,
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Import record files, a folder of them, or open repair data.

    CSV, XLSX or Parquet; the kind of the rows is the file's stem or the sheet's name. Every row is
    kept, known already, or refused with its line and reason. The same file twice changes nothing.

    Example:
        fleet import club_records
        fleet import list.csv --as units --alias BM-2=BM2
        fleet import theirs.csv --as reports --column Seen=date --column Shelf= --dry-run
    """
    aliases = {name: model for name, model in map(_read_alias, alias or []) if model}
    columns = dict(_read_pair(text, "--column", "THEIRS=OURS") for text in column or [])

    from fleet.flow.arriving import how_to_read
    from fleet.flow.importing import import_files, look_at_files

    with busy("Reading") as next_step:
        imported = (look_at_files if dry_run else import_files)(
            where.store,
            files,
            kind=kind,
            today=today(),
            by=who.by,
            aliases=aliases,
            how=how_to_read(files, kind=kind, columns=columns, source=source),
            progress=next_step,
        )
    import polars as pl

    frame = imported.counts.with_columns(pl.lit(imported.import_id, pl.String).alias("import"))
    print_table(
        frame, form, screen=imported.counts, empty="There was no row to import in these files."
    )
    _say_what_happened(imported, dry_run=dry_run)
    if strict and not imported.rejected.is_empty():
        raise typer.Exit(1)


def _read_alias(text: str) -> tuple[str, str]:
    name, model = _read_pair(text, "--alias", "NAME=MODEL")
    if model is None:
        raise typer.BadParameter(f"{text!r} must be NAME=MODEL", param_hint="--alias")
    return name, model


def _read_pair(text: str, option: str, form: str) -> tuple[str, str | None]:
    """A name and what it stands for; None where nothing is behind the equals sign."""
    name, equals, value = text.partition("=")
    if not equals or not name.strip():
        raise typer.BadParameter(f"{text!r} must be {form}", param_hint=option)
    return name.strip(), value.strip() or None


def _say_what_happened(imported: "Imported", *, dry_run: bool) -> None:
    say_all(imported.notes)
    refused = imported.rejected
    for row in refused.head(_REJECTS_SHOWN).iter_rows(named=True):
        say(f"Refused: {row['file']} line {row['line']}: {row['reason']}")
    if not refused.is_empty():
        which = f" {imported.import_id}" if imported.import_id else ""
        more = refused.height - _REJECTS_SHOWN
        left = f"{more:,} more; " if more > 0 else ""
        how = "" if dry_run else f" ({left}all with: fleet rejects{which})"
        say(f"{counted(refused.height, 'row')} refused{how}.")
    if dry_run:
        kept = int(imported.counts["kept"].sum())
        say(f"{counted(kept, 'row')} would be kept. Nothing was written.")
    elif imported.import_id:
        say(f"Take this import back with: fleet undo {imported.import_id}")
    else:
        say("Nothing new was kept.")
