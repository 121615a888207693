"""fleet check."""

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all


def command(
    *,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say what in the data hurts the answers, and what would help.

    Example:
        fleet check --as-of 2026-05-31
    """
    from fleet.flow.checking import check

    with busy("Checking the records"):
        answer = check(where.store, as_of=when.day)
    print_table(answer.frame, form, empty="Nothing was found that hurts the answers.")
    say_all(answer.notes)
