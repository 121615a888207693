"""fleet amend."""

from typing import Annotated

import typer

from fleet.cli.entered import print_entered
from fleet.cli.options import Form, Where, Who, today
from fleet.cli.words import say


def command(
    *,
    record: Annotated[
        str, typer.Argument(metavar="ID", help="The record, or the beginning of its id.")
    ],
    changes: Annotated[
        list[str],
        typer.Option("--set", metavar="COLUMN=VALUE", help="May be given again; blank: unknown."),
    ],
    who: Who,
    where: Where,
    form: Form,
) -> None:
    """Correct a record; the corrected one supersedes it.

    The old version stays in the history, and answers as of an earlier day still use it.

    Example:
        fleet amend r-1f0c --set date=2026-04-02 --set cause=capacitor
    """
    wanted = dict(_read_change(text) for text in changes)

    from fleet.flow.entering import amend_record

    entered = amend_record(where.store, record, wanted, today=today(), by=who.by)
    print_entered(entered, form, what="record")
    if entered.records:
        say(f"It supersedes {record}.")


def _read_change(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip():
        raise typer.BadParameter(
            f"{text!r} must be column=value, like date=2026-05-31", param_hint="--set"
        )
    return name.strip(), value.strip()
