"""The options that commands share, each group as one object (see spread.py)."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Literal

import typer

Ages = Literal["years", "days"]


def read_day(text: str) -> date:
    """A full ISO 8601 day, or a usage error."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is not a day; write it like 2026-05-31") from None


def today() -> date:
    """The day on this machine's clock: the only place where one is read."""
    return date.today()  # noqa: DTZ011 - reports are dated in the local calendar


@dataclass(frozen=True, slots=True)
class Where:
    """Which store."""

    store: Annotated[
        Path,
        typer.Option(
            "--store",
            envvar="FLEET_STORE",
            metavar="FILE",
            help="The store. Without it: FLEET_STORE, else fleet.duckdb in this folder.",
            show_default=False,
            show_envvar=False,
        ),
    ] = Path("fleet.duckdb")


@dataclass(frozen=True, slots=True)
class Form:
    """How a table is printed."""

    json: Annotated[bool, typer.Option("--json", help="A list of objects, nothing rounded.")] = (
        False
    )
    csv: Annotated[bool, typer.Option("--csv", help="The same columns as CSV.")] = False

    def __post_init__(self) -> None:
        """Refuse both at once."""
        if self.json and self.csv:
            raise typer.BadParameter("give --json or --csv, not both")


@dataclass(frozen=True, slots=True)
class When:
    """As of which day to compute."""

    as_of: Annotated[
        date | None,
        typer.Option(
            "--as-of",
            parser=read_day,
            metavar="DATE",
            help="Only what was known on this day counts. Without it: today.",
            show_default=False,
        ),
    ] = None

    @property
    def day(self) -> date:
        """The day asked for, else today."""
        return self.as_of or today()


@dataclass(frozen=True, slots=True)
class Reading:
    """How reports are read where they leave a choice."""

    unknown_cause: Annotated[
        Literal["share", "capacitor", "other"],
        typer.Option(
            help="Failures of unknown cause: split by the share of known causes, or all one way."
        ),
    ] = "share"
    degraded_as: Annotated[
        Literal["censored", "failed"],
        typer.Option(help="A recap because of a reading, the unit still working."),
    ] = "censored"


@dataclass(frozen=True, slots=True)
class Who:
    """Who enters a record."""

    by: Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who does it.")] = None


def split_list(text: str | None) -> tuple[str, ...]:
    """`model,batch` as a tuple, each once; empty for None. Usage error for nothing but commas."""
    parts = [part.strip() for part in (text or "").split(",") if part.strip()]
    if text and not parts:
        raise typer.BadParameter(f"{text!r} names no column; write it like model,batch")
    return tuple(dict.fromkeys(parts))
