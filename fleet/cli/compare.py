"""fleet compare."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, Reading, When, Where, split_list
from fleet.cli.output import print_table
from fleet.cli.tables_in import Chosen, TableIn, read_table
from fleet.cli.words import busy, say_all, say_background

if TYPE_CHECKING:
    import polars as pl

_HOURS = "hours_per_year"


def command(
    *,
    chosen: Chosen,
    ratios: Annotated[
        bool,
        typer.Option(
            "--ratios", help="How many times as long each group lasts, instead of the tests."
        ),
    ] = False,
    explain: Annotated[
        str | None,
        typer.Option(
            metavar="COLUMNS",
            help="Do these shorten life, like ambient_c,hours_per_year,batch? --by then keeps "
            "groups apart.",
        ),
    ] = None,
    clock: Annotated[
        bool, typer.Option("--clock", help="Does age count, powered hours, or a mix?")
    ] = False,
    hours: Annotated[
        str, typer.Option(metavar="COLUMN", help="With --clock: powered hours a year.")
    ] = _HOURS,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Test whether groups of lives are alike, and what shortens them.

    By the log-rank test, by the likelihood ratio of Weibull fits, and whether groups age in the
    same way. A small p-value says that they differ; p_permuted, where failures are few, is the
    one to go by. A test that cannot be done is left empty, with the reason.

    Example:
        fleet compare --by batch
        fleet compare --explain ambient_c,hours_per_year
        fleet compare --lives lives.csv --by batch --json
    """
    if ratios + clock + (explain is not None) > 1:
        raise typer.BadParameter(
            "give one of --ratios, --explain and --clock", param_hint="--clock"
        )
    if hours != _HOURS and not clock:
        raise typer.BadParameter("say --clock as well", param_hint="--hours")
    source = read_table(chosen, reading, where, when)
    with busy(f"Comparing {source.table.lives.height:,} lives"):
        frame, screen, words, notes = _answer(
            source,
            chosen,
            when,
            where,
            ratios=ratios,
            explain=explain,
            hours=hours if clock else None,
        )
    groups = list(chosen.columns) if ratios else None
    print_table(frame, form, by=groups, screen=screen, empty="There is nothing to compare.")
    say_all(notes)
    say_all(words)
    say_background(source.table.notes, elsewhere=source.table.from_store)


_Said = tuple[str, ...]


def _answer(
    source: TableIn,
    chosen: Chosen,
    when: When,
    where: Where,
    *,
    ratios: bool,
    explain: str | None,
    hours: str | None,
) -> "tuple[pl.DataFrame, pl.DataFrame | None, _Said, _Said]":
    """What to print, how it looks on the screen, its sentences, and what else must be said."""
    store = None if chosen.lives else where.store
    if explain is None and hours is None:
        from fleet.flow.differences import differences

        found = differences(
            source.table, by=chosen.columns, level=chosen.level, settings=source.settings
        )
        if ratios:
            screen = _limits(found.ratios, "ratio", chosen.level, keep=[*chosen.columns])
            return found.ratios, screen, found.words, found.notes
        return found.tests, _without_empty(found.tests), found.words, found.notes
    if explain is not None:
        from fleet.flow.influences import influences

        answer = influences(
            source.table,
            split_list(explain),
            store=store,
            as_of=when.day,
            by=chosen.columns,
            level=chosen.level,
            settings=source.settings,
        )
        screen = _limits(answer.frame, "effect", chosen.level, keep=["column", "value", "per"])
        return answer.frame, screen, answer.notes, ()
    from fleet.flow.clocks import clocks

    answer = clocks(
        source.table,
        store=store,
        as_of=when.day,
        hours=hours or _HOURS,
        by=chosen.columns,
        level=chosen.level,
        settings=source.settings,
    )
    return answer.frame, None, answer.notes, ()


def _without_empty(tests: "pl.DataFrame") -> "pl.DataFrame":
    """The tests without the reasons, which are said below, and without a column of blanks."""
    shown = tests.drop("note")
    blank = shown["p_permuted"].null_count() == shown.height
    return shown.drop("p_permuted") if blank else shown


def _limits(frame: "pl.DataFrame", what: str, level: float, *, keep: "list[str]") -> "pl.DataFrame":
    from fleet.cli.screen import with_limits

    named = f"times as long ({100 * level:.4g} % limits)"
    rest = [c for c in ("p_value", "lives", "failures", "missing") if c in frame.columns]
    return frame.select(*keep, with_limits(what, name=named), *rest)
