"""What opening and measuring cost and tell, as options that commands share (see spread.py)."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from fleet.flow.bench_costs import Given


@dataclass(frozen=True, slots=True)
class BenchGiven:
    """Options about opening a machine and measuring its parts."""

    opening_share: Annotated[
        float,
        typer.Option(
            metavar="SHARE",
            help="Of the bench hours of a recap, what opening and closing takes.",
            min=0.0,
            max=1.0,
        ),
    ] = 0.5
    opening_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="What opening costs, instead of that share.", min=0.0),
    ] = None
    measuring_cost: Annotated[
        float | None,
        typer.Option(
            metavar="NUMBER",
            help="What measuring costs, opening included; without it a quarter of an hour more.",
            min=0.0,
        ),
    ] = None
    openings: Annotated[
        float | None,
        typer.Option(
            metavar="NUMBER",
            help="How often a machine is opened for other reasons a year; without it as reported.",
            min=0.0,
        ),
    ] = None
    look_years: Annotated[
        float,
        typer.Option(
            metavar="YEARS",
            help="A reading speaks of failing within so many years; measured again after them.",
            min=0.1,
            max=50.0,
        ),
    ] = 2.0
    sensitivity: Annotated[
        float | None,
        typer.Option(
            metavar="SHARE",
            help="Share of machines about to fail that read bad; without it as learned.",
            min=0.0,
            max=1.0,
        ),
    ] = None
    specificity: Annotated[
        float | None,
        typer.Option(
            metavar="SHARE",
            help="Share of the others that read good; without it as learned.",
            min=0.0,
            max=1.0,
        ),
    ] = None

    def given(self) -> "Given":
        """What the bench is told to cost."""
        from fleet.flow.bench_costs import Given

        return Given(
            opening_share=self.opening_share,
            opening_cost=self.opening_cost,
            measuring_cost=self.measuring_cost,
            openings=self.openings,
        )
