"""fleet part check."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl


def command(
    *,
    parts: Annotated[
        list[str] | None,
        typer.Argument(metavar="[PART]...", help="Parts; without any: all offers and stock."),
    ] = None,
    model: Annotated[
        str | None, typer.Option(metavar="MODEL", help="Only places on this model's board.")
    ] = None,
    position: Annotated[
        str | None, typer.Option(metavar="POSITION", help="Only this place, such as C7.")
    ] = None,
    facts: Annotated[
        str | None,
        typer.Option(metavar="TEXT", help="A part in the hand, by what is printed on it."),
    ] = None,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say whether a part may stand in for another, point by point, each with its source.

    The verdict is the worst of its reasons: fits, fits_with_care, facts_not_known (no voltage or
    capacitance is on record) or does_not_fit. What has to be measured before the part is ordered
    is in measure_first. Nothing is guessed: a fact that nobody recorded is a fact to measure.

    Example:
        fleet part check --model BM-2 --position C7
        fleet part check KR-470 --model BM-2 --json
        fleet part check --facts "1000uF 25V 105C 10x20 radial" --model BM-2 --position C2
    """
    from fleet.flow.parts import stand_ins

    with busy("Holding parts against places"):
        found = stand_ins(
            where.store,
            as_of=when.day,
            parts=tuple(parts or ()),
            model=model,
            position=position,
            facts=facts,
        )
    frame = _reasons_as_text(found.frame) if form.csv else found.frame
    shown = found.frame if parts or facts else _worth_a_look(found.frame)
    print_table(frame, form, screen=_screen(shown), empty="No pair to judge.")
    if not (form.json or form.csv) and found.frame.height:
        from fleet.flow.caution import CAUTION

        if shown.height < found.frame.height:
            say(_left_out(found.frame, shown))
        say(CAUTION)
    say_all(found.notes)


def _worth_a_look(frame: "pl.DataFrame") -> "pl.DataFrame":
    """What may go in; of places where nothing may, the part that comes nearest."""
    import polars as pl

    some = (pl.col("verdict") != "does_not_fit").any().over("model", "position")
    nearest = pl.int_range(pl.len()).over("model", "position") == 0
    return frame.filter((pl.col("verdict") != "does_not_fit") | (~some & nearest))


def _left_out(frame: "pl.DataFrame", shown: "pl.DataFrame") -> str:
    left = frame.height - shown.height
    pairs = "1 more pair does" if left == 1 else f"{left:,} more pairs do"
    return f"{pairs} not fit; --json and --csv list them, and so does naming a part."


def _reasons_as_text(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    reason = pl.element().struct
    said = pl.format("{}: {} [{}]", *(reason.field(f) for f in ("point", "sentence", "source")))
    return frame.with_columns(pl.col("reasons").list.eval(said))


def _screen(frame: "pl.DataFrame") -> "pl.DataFrame":
    """One pair: every reason on a line of its own; more: what speaks against each."""
    import polars as pl

    from fleet.flow.parts import reasons_by_verdict

    if frame.height == 1:
        lines = frame.explode("reasons").select("part", "model", "position", "reasons")
        return lines.unnest("reasons").select(
            "part",
            "model",
            "position",
            "point",
            pl.col("verdict").str.replace_all("_", " "),
            "sentence",
            "source",
        )
    # Of a part that does not fit only what refuses it: the rest decides nothing.
    against = reasons_by_verdict()
    return frame.select(
        "part",
        "model",
        "position",
        pl.col("verdict").str.replace_all("_", " "),
        pl.col("measure_first").list.join(", ").alias("measure first"),
        pl.when(pl.col("verdict") == "does_not_fit")
        .then(against["does_not_fit"])
        .when(pl.col("verdict") == "facts_not_known")
        .then(against["facts_not_known"])
        .otherwise(against["fits_with_care"])
        .alias("what speaks against it"),
    )
