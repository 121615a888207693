"""fleet unit."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.one_machine import OneMachine

Shown = Literal["history", "lives", "failures", "readings", "disagreements", "private"]
_EMPTY = {
    "history": "Nothing is known of it.",
    "lives": "No set of its capacitors is known: its records contradict each other, or say too "
    "little.",
    "failures": "No failure of it is known.",
    "readings": "Nothing was measured on it.",
    "disagreements": "Its records agree.",
    "private": "There are no private notes on it.",
}


def command(
    *,
    unit: Annotated[
        str, typer.Argument(metavar="UNIT", help="Any part of its name or serial number.")
    ],
    show: Annotated[
        Shown,
        typer.Option(
            "--show",
            help="What is listed: all that was told of it; its sets of capacitors; their failures; "
            "what was measured; records that cannot all be true; the owner's private notes, "
            "which are shown here only, where they are asked for.",
        ),
    ] = "history",
    due: Annotated[
        bool, typer.Option("--due/--no-due", help="Say also when it is due, which takes longer.")
    ] = True,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Tell the history of one machine, from birth to now, and when it is due.

    Corrections stand beside what they corrected. Before any work on a board: unplug it, let
    stored charge drain and measure that it has; local rules come before this list.

    Example:
        fleet unit U-007
        fleet unit 53 --show readings --csv
    """
    from fleet.flow.due import due as due_list
    from fleet.flow.known import known_records
    from fleet.flow.one_machine import find_unit, one_machine

    units = known_records(where.store, ("units",), as_of=when.day)["units"]
    name = find_unit(units, unit)
    if show == "private":
        _print_private(where, name, form)
        return
    with busy("Reading its records"):
        listed = due_list(where.store, as_of=when.day).frame if due else None
        found = one_machine(where.store, name, as_of=when.day, due=listed)
    frame = _frame(found, show)
    print_table(frame, form, screen=_screen(frame, show), empty=_EMPTY[show])
    say_all(_words(found, asked=due))


def _print_private(where: Where, unit: str, form: Form) -> None:
    """Whoever holds the store's file may see what is in it, but only by asking for it."""
    import polars as pl

    from fleet.flow.access import Person
    from fleet.flow.private_notes import private_notes

    text = private_notes(where.store, unit, Person(name="", role="manage"))
    rows = [(unit, text)] if text else []
    frame = pl.DataFrame(rows, schema={"unit": pl.String, "private_notes": pl.String}, orient="row")
    print_table(frame, form, empty=_EMPTY["private"])


def _frame(found: "OneMachine", show: Shown) -> "pl.DataFrame":
    import polars as pl

    from fleet.flow.machine_conflicts import listed

    if show == "disagreements":
        return listed(found.disagreements)
    frames = {
        "history": found.events,
        "lives": found.sets,
        "failures": found.failures,
        "readings": found.readings,
    }
    frame = frames[show]
    unit = pl.lit(found.unit).alias("unit")
    return frame.select(unit, *(c for c in frame.columns if c != "unit"))


def _screen(frame: "pl.DataFrame", show: Shown) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, short

    if show == "history":
        standing = pl.when(pl.col("standing") != "counts").then("standing").alias("but")
        return frame.select("on", "what", "said", standing, "changed", "notes", "by", "record")
    if show == "readings":
        return frame.select(
            "position", "date", "stage", "verdict",
            short(pl.col("esr_ohm")).alias("ESR (ohm)"),
            percent("esr_share", name="of its limit"),
            percent("farads_share", name="capacitance of the least"),
            "volts_positive", "volts_negative", "instrument",
        )  # fmt: skip
    return frame.select(pl.col(c).alias(c.replace("_", " ")) for c in frame.columns if c != "unit")


def _words(found: "OneMachine", *, asked: bool) -> tuple[str, ...]:
    facts = "; ".join(f"{label.lower()} {text}" for label, text in found.facts)
    due: tuple[str, ...] = ()
    if found.due is not None:
        action = str(found.due["action"]).replace("_", " ")
        on = f" on {found.due['due_on']}" if found.due["due_on"] else ""
        due = (f"What to do: {action}{on}. {found.due['reason']}",)
    elif asked:
        due = (found.not_due,)
    wrong = tuple(f"{one.reason}. {one.advice} {one.commands}" for one in found.disagreements)
    then = (found.next_step,) if found.next_step else ()
    return (f"{found.unit}: {facts}.", *found.said, *due, *found.readings_said, *wrong, *then)
