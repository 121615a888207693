"""fleet part life."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.capacitors import Ripple


def command(
    part: Annotated[
        str | None, typer.Argument(metavar="PART", help="A part of the offers.")
    ] = None,
    *,
    model: Annotated[
        str | None, typer.Option(help="Instead of a part: what this model's position asks for.")
    ] = None,
    position: Annotated[str | None, typer.Option(help="The position, with --model.")] = None,
    ambient: Annotated[
        float | None, typer.Option(help="Air beside the part while it runs, in °C.")
    ] = None,
    can_top: Annotated[
        float | None, typer.Option(help="Instead: measured on the can's top, in °C.")
    ] = None,
    ripple_ma: Annotated[
        list[str] | None,
        typer.Option(
            metavar="MA[:FACTOR]",
            help="Ripple current; with its frequency factor where the data sheet has one. Once "
            "for each frequency.",
        ),
    ] = None,
    volts: Annotated[float | None, typer.Option(help="Across it while it runs.")] = None,
    hours_per_year: Annotated[float, typer.Option(help="Powered hours a year.")] = 8760.0,
    off_ambient: Annotated[
        float | None,
        typer.Option(help="Air while it is off, in °C; then those hours count too."),
    ] = None,
    rated_hours: Annotated[float | None, typer.Option(help="Before what the records say.")] = None,
    temperature: Annotated[float | None, typer.Option(help="Rated, in °C.")] = None,
    rated_volts: Annotated[float | None, typer.Option(help="Rated voltage.")] = None,
    rated_ripple_ma: Annotated[float | None, typer.Option(help="Rated ripple current.")] = None,
    diameter: Annotated[float | None, typer.Option(help="Of the can, in mm.")] = None,
    core_rise: Annotated[
        float | None,
        typer.Option(help="Kelvin of its core at the rated ripple, where told; 5 is usual."),
    ] = None,
    large_can: Annotated[
        bool | None,
        typer.Option(
            "--large-can/--small-part",
            help="Count the gain of running below the rated voltage, or not. Without it: for "
            "snap-in parts.",
        ),
    ] = None,
    limits: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="What its hours run to: endurance or 'useful life'."),
    ] = None,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say how long a part is expected to last where it sits: at most, not for sure.

    By the ten-kelvin rule, ripple heat and voltage, capped at fifteen years. The first row is in
    the air told, the others in cooler and warmer air.

    Example:
        fleet part life KR-470 --ambient 45 --ripple-ma 300 --volts 12 --hours-per-year 2000
        fleet part life --rated-hours 2000 --temperature 105 --ambient 65
        fleet part life --model BM-2 --position C3 --can-top 58 --ripple-ma 300:0.8 --ripple-ma 90
    """
    from fleet.flow.part_life import Place, life_of_part

    place = Place(
        air_c=ambient,
        can_c=can_top,
        ripple=[_ripple(text) for text in ripple_ma or ()],
        volts=volts,
        hours_per_year=hours_per_year,
        off_c=off_ambient,
        large_can=large_can,
        criterion=limits,
        core_rise_k=core_rise,
        told={
            "rated_hours": rated_hours,
            "temperature": temperature,
            "voltage": rated_volts,
            "ripple_ma": rated_ripple_ma,
            "diameter_mm": diameter,
        },
    )
    answer = life_of_part(where.store, part, place, as_of=when.day, model=model, position=position)
    print_table(answer.frame, form, screen=_screen(answer.frame))
    say_all(answer.notes)


def _ripple(text: str) -> "Ripple":
    """`300` or `300:0.8` (mA and the factor at its frequency)."""
    from fleet.capacitors import Ripple

    ma, _, factor = text.partition(":")
    try:
        return Ripple(float(ma), float(factor) if factor else 1.0)
    except ValueError:
        raise typer.BadParameter(
            f"{text!r} is no ripple current; write mA, or mA:factor like 300:0.8"
        ) from None


def _screen(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import short

    years = short(pl.col("years"))
    return frame.select(
        "part",
        pl.format("{} °C", short(pl.col("air_c"))).alias("air"),
        short(pl.col("hours")).alias("powered hours"),
        pl.when("capped").then(pl.format("{} (capped)", years)).otherwise(years).alias("years"),
        short(pl.col("temperature_factor")).alias("heat, times"),
        short(pl.col("ripple_factor")).alias("ripple, times"),
        short(pl.col("voltage_factor")).alias("volts, times"),
    )
