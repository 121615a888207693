"""What add, log and amend print: the ids of the records."""

from typing import TYPE_CHECKING

from fleet.cli.options import Form
from fleet.cli.output import print_table
from fleet.cli.words import counted, say, say_all

if TYPE_CHECKING:
    from fleet.flow.entering import Entered


def print_entered(entered: "Entered", form: Form, *, what: str) -> None:
    """The ids of the records that were kept or known already, and the sentences with them."""
    import polars as pl

    ids = [*entered.records, *entered.already_known]
    known = [False] * len(entered.records) + [True] * len(entered.already_known)
    frame = pl.DataFrame(
        {"record": ids, "already_known": known},
        schema={"record": pl.String, "already_known": pl.Boolean},
    )
    print_table(frame, form, screen=frame.select("record"))
    if entered.records:
        say(f"{counted(len(entered.records), what)} kept; correct one with fleet amend ID.")
    say_all(entered.notes)
