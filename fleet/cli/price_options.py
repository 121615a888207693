"""Prices and chances given instead of the records', as options (see spread.py)."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from fleet.flow.replacement_prices import Told


@dataclass(frozen=True, slots=True)
class PriceTold:
    """What could be had instead, and how likely things go wrong."""

    planned_cost: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="All a planned recap costs.")
    ] = None
    failure_cost: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="All a failure costs, its recap included."),
    ] = None
    price_used: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="Price of a used machine.", min=0.0)
    ] = None
    used_parts_age: Annotated[
        float | None,
        typer.Option(metavar="YEARS", help="Age of a used machine's capacitors.", min=0.0),
    ] = None
    price_new: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="Price of a new machine.", min=0.0)
    ] = None
    price_board: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="Price of a board.", min=0.0)
    ] = None
    board_parts_age: Annotated[
        float | None,
        typer.Option(metavar="YEARS", help="Age of that board's capacitors.", min=0.0),
    ] = None
    scrap: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="What the old machine brings in.", min=0.0),
    ] = None
    success: Annotated[
        float | None,
        typer.Option(
            metavar="CHANCE",
            help="That a recap succeeds; without it as learned.",
            min=0.0,
            max=1.0,
        ),
    ] = None
    beyond_repair: Annotated[
        float | None,
        typer.Option(
            metavar="CHANCE",
            help="That a failure takes so much with it that the machine is lost; without it as "
            "learned.",
            min=0.0,
            max=1.0,
        ),
    ] = None

    def told(self) -> "Told":
        """The same for the decisions."""
        from fleet.flow.replacement_prices import Told

        return Told(
            used=self.price_used,
            used_age=self.used_parts_age,
            new=self.price_new,
            board=self.price_board,
            board_age=self.board_parts_age,
            scrap=self.scrap,
            planned=self.planned_cost,
            failure=self.failure_cost,
            success=self.success,
            beyond_repair=self.beyond_repair,
        )
