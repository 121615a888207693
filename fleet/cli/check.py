"""fleet check."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.table import Answer

Shown = Literal["findings", "causes", "one-sided", "sources", "pooling", "told-twice"]


def command(
    *,
    show: Annotated[
        Shown,
        typer.Option(
            "--show",
            help="Instead of the findings: both ends of unknown causes; what one-sided reporting "
            "does; how complete each source is; why lives were pooled; events told twice.",
        ),
    ] = "findings",
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say what in the data hurts the answers most, and what to ask for next.

    Effect: how far settling it would move the age by which one in ten has failed, or its limits,
    where that is most.

    Example:
        fleet check --as-of 2026-05-31
        fleet check --show pooling
    """
    with busy("Checking the records"):
        answer, empty = _answer(show, when, where)
    print_table(answer.frame, form, screen=_screen(show, answer.frame), empty=empty)
    say_all(answer.notes)


def _answer(show: Shown, when: When, where: Where) -> "tuple[Answer, str]":
    from fleet.flow.answers import in_years, lives

    store, as_of = where.store, when.day
    if show == "findings":
        from fleet.flow.checking import check

        return check(store, as_of=as_of), "Nothing was found that hurts the answers."
    if show == "causes":
        from fleet.flow.bias import unknown_ends

        return unknown_ends(store, as_of=as_of), "No failure of unknown cause is known."
    table = lives(store, as_of=as_of)
    if show == "one-sided":
        from fleet.flow.bias import one_sided

        return one_sided(in_years(table)), "Every life was watched from new."
    if show == "sources":
        from fleet.flow.bias_sources import completeness

        return completeness(table, store, as_of=as_of), "No source is known."
    if show == "pooling":
        from fleet.flow.pooling import pooling

        return pooling(table, store, as_of=as_of), "There is no life to pool."
    from fleet.flow.table import Answer

    return Answer(frame=table.twice_told), "Nothing was told twice."


def _screen(show: Shown, frame: "pl.DataFrame") -> "pl.DataFrame | None":
    import polars as pl

    from fleet.cli.screen import percent, short, with_limits

    if show == "findings":
        return frame.select(
            "rank", "subject", "finding", "count", percent("effect", name="effect"), "advice"
        )
    if show == "causes":
        return frame.select(
            "model",
            "unknown",
            pl.col("unknown_cause").alias("if they were"),
            with_limits("shape"),
            with_limits("scale", name="scale (years)"),
            with_limits("b10", name="B10 (years)"),
            pl.col("reason").alias("why no estimate or limit"),
        )
    if show == "one-sided":
        return frame.select("model", *(short(pl.col(c)).alias(said) for c, said in _ONE_SIDED))
    if show == "sources":
        return frame.select(
            "source",
            "units",
            "running",
            percent("seen_within_year", name="seen within a year"),
            "failures",
            *(percent(c, name=said) for c, said in _SHARES),
            _spaced("collecting_since"),
            pl.col("survivors_reported").alias("tells what still works"),
        )
    if show == "pooling":
        return frame.select("model", pl.col("question").str.replace_all("_", " "), "answer",
                            percent("p_value", name="chance"), "sentence")  # fmt: skip
    return frame.select(_spaced(c) for c in frame.columns)


_ONE_SIDED = (
    ("late", "came late"),
    ("failure_only", "known by failing"),
    ("shape", "shape"),
    ("scale", "scale (years)"),
    ("b10", "B10 (years)"),
    ("naive_shape", "shape if all from new"),
    ("naive_scale", "scale if all from new"),
    ("naive_b10", "B10 if all from new"),
)
_SHARES = (
    ("with_cause", "cause told"),
    ("with_day", "dated to the day"),
    ("with_position", "position named"),
    ("entered_dated", "day of entry told"),
)


def _spaced(column: str) -> "pl.Expr":
    import polars as pl

    return pl.col(column).alias(column.replace("_", " "))
