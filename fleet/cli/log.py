"""fleet log."""

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Literal

import typer

from fleet.cli.entered import print_entered
from fleet.cli.options import Form, Where, Who, today

ReportKind = Literal[
    "working", "failed", "recapped", "repaired", "board_swapped", "stored", "retired", "note"
]


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen: the columns of a report that are not its unit, date or kind."""

    last_known_working: Annotated[
        str | None, typer.Option(metavar="DATE", help="For a failure: when it last worked.")
    ] = None
    cause: Annotated[
        Literal["capacitor", "other", "unknown"] | None, typer.Option(help="Why it failed.")
    ] = None
    positions: Annotated[
        str | None, typer.Option(metavar="LIST", help="Suspected or replaced: all, or 'C1;C4'.")
    ] = None
    batch: Annotated[str | None, typer.Option(metavar="NAME", help="Of the parts fitted.")] = None
    because: Annotated[
        Literal["planned", "failure", "reading"] | None, typer.Option(help="Why it was recapped.")
    ] = None
    symptom: Annotated[str | None, typer.Option(help="What it did or did not do.")] = None
    found_dead: Annotated[
        bool, typer.Option("--found-dead", help="It may have failed long before that day.")
    ] = False
    notes: Annotated[str | None, typer.Option(help="Anything else.")] = None
    cured: Annotated[
        Literal["yes", "no"] | None,
        typer.Option(help="Of a recap or repair: did the machine work afterwards?"),
    ] = None
    source: Annotated[
        str | None, typer.Option(metavar="NAME", help="Who collected it: a name in sources.")
    ] = None

    def as_fields(self) -> dict[str, str]:
        """Only what was given, as text."""
        given = {field.name: getattr(self, field.name) for field in fields(self)}
        texts = {name: value for name, value in given.items() if isinstance(value, str)}
        return {**texts, "found_dead": "yes"} if self.found_dead else texts


def command(
    *,
    kind: Annotated[ReportKind, typer.Argument(metavar="KIND", help="What was seen.")],
    on: Annotated[
        str, typer.Option("--on", metavar="DATE", help="2026-05-31, 2026-05, 2026, or today.")
    ],
    seen: Seen,
    units: Annotated[
        list[str] | None, typer.Argument(metavar="UNIT", help="One, or many for a roll call.")
    ] = None,
    units_from: Annotated[
        Path | None,
        typer.Option("--units-from", metavar="FILE", help="A text file with one unit a line."),
    ] = None,
    reading: Annotated[
        list[str] | None,
        typer.Option(
            "--reading",
            metavar="POSITION,COLUMN=VALUE,...",
            help="A measurement, for one unit; may be given again. Short: C3 before 4.1ohm.",
        ),
    ] = None,
    readings_from: Annotated[
        Path | None,
        typer.Option(
            "--readings-from",
            metavar="FILE",
            help="A sheet of measurements: lines like C3 before 12.1/0.02V 4.1ohm after 0.2ohm, "
            "or a table with a header.",
        ),
    ] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Keep a report that contradicts others, flagged.")
    ] = False,
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Log what was seen on a day, of one unit or of many (a roll call).

    KIND is working, failed, recapped, repaired, board_swapped, stored, retired or note. Nothing is
    kept when one of the units is not known.

    Example:
        fleet log working TL-014 TL-017 TL-052 --on 2026-05-31
        fleet log failed TL-014 --on 2026-05 --cause capacitor --positions C3
        fleet log recapped TL-014 --on today --positions C3 --reading C3,stage=before,esr_ohm=4
        fleet log recapped TL-014 --on today --positions C3 --reading 'C3 before 4R1 after .2R'
        fleet log recapped TL-014 --on today --positions all --cured yes --readings-from sheet.txt
    """
    named = [*(units or []), *(_read_units(units_from) if units_from else [])]
    if not named:
        raise typer.BadParameter("name at least one unit", param_hint="UNIT")
    readings = [one for text in reading or [] for one in read_short(text)]
    if readings_from:
        readings += _read_sheet(readings_from)

    from fleet.errors import Conflict
    from fleet.flow.entering import log_reports

    day = today()
    date_text = day.isoformat() if on == "today" else on
    try:
        entered = log_reports(
            where.store,
            kind,
            named,
            {"date": date_text, **seen.as_fields()},
            readings=readings,
            today=day,
            by=who.by,
            anyway=anyway,
        )
    except Conflict as error:
        hint = "--anyway keeps both, flagged and out of the lives until one is amended"
        raise Conflict(f"{str(error).rstrip('.')} ({hint})") from error
    print_entered(entered, form, what="record")


def read_reading(text: str) -> dict[str, str]:
    """`C3,stage=before,esr_ohm=4.1` as the columns of a reading; a usage error otherwise."""
    position, *pairs = [part.strip() for part in text.split(",")]
    columns = {"position": position}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or name.strip() in columns:
            raise typer.BadParameter(
                f"{text!r}: after the position write column=value, each column once, "
                "like C3,stage=before,volts_positive=3.1",
                param_hint="--reading",
            )
        columns[name.strip()] = value.strip()
    if not position or "=" in position:
        raise typer.BadParameter(
            f"{text!r} must begin with the position, like C3,stage=before", param_hint="--reading"
        )
    return columns


def read_short(text: str) -> list[dict[str, str]]:
    """`C3 before 4.1ohm after 0.2ohm`, or the columns written out, as readings; a usage error."""
    from fleet.errors import BadInput
    from fleet.flow.reading_lines import is_reading_line, read_reading_lines

    if not is_reading_line(text):
        return [read_reading(text)]
    try:
        found = read_reading_lines(text)
    except BadInput as error:
        raise typer.BadParameter(f"{text!r}: {error}", param_hint="--reading") from error
    if not found:
        raise typer.BadParameter(
            f"{text!r} holds no value; fill in what was read, or leave it out",
            param_hint="--reading",
        )
    return found


def _read_sheet(path: Path) -> list[dict[str, str]]:
    from fleet.errors import BadInput
    from fleet.flow.reading_lines import EXAMPLE, read_reading_lines

    try:
        found = read_reading_lines(_text_of(path))
    except BadInput as error:
        raise BadInput(f"{path}, {error}") from error
    if not found:
        raise BadInput(f"{path} holds no reading; write lines like {EXAMPLE}")
    return found


def _read_units(path: Path) -> list[str]:
    from fleet.errors import BadInput

    named = [line.strip() for line in _text_of(path).splitlines() if line.strip()]
    if not named:
        raise BadInput(f"{path} names no unit; write one unit a line")
    return named


def _text_of(path: Path) -> str:
    from fleet.errors import BadInput

    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(f"{path} is not UTF-8 text; save it as UTF-8") from error
