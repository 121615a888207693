"""Which rule makes a unit due, as options that commands share (see spread.py)."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

import typer

if TYPE_CHECKING:
    from fleet.decisions.policies import Policy


@dataclass(frozen=True, slots=True)
class Rule:
    """When parts are renewed before they fail."""

    policy: Annotated[
        Literal["cost", "risk", "age"],
        typer.Option(
            help="What makes a unit due: the age that costs least, a limit to the chance that it "
            "fails soon, or a fixed age."
        ),
    ] = "cost"
    risk: Annotated[
        float | None,
        typer.Option(
            metavar="CHANCE",
            help="With --policy risk: the chance that is borne, 0.1 unless given.",
            min=0.0001,
            max=0.9999,
        ),
    ] = None
    within_years: Annotated[
        float | None,
        typer.Option(
            metavar="YEARS",
            help="With --policy risk: within so many years, 1 unless given.",
            min=0.01,
            max=100.0,
        ),
    ] = None
    age: Annotated[
        float | None,
        typer.Option(
            metavar="YEARS", help="With --policy age: the fixed age.", min=0.01, max=1000.0
        ),
    ] = None

    def __post_init__(self) -> None:
        """Refuse options that the rule does not ask for."""
        if self.policy != "risk" and (self.risk is not None or self.within_years is not None):
            raise typer.BadParameter("--risk and --within-years go with --policy risk")
        if self.policy != "age" and self.age is not None:
            raise typer.BadParameter("--age goes with --policy age")
        if self.policy == "age" and self.age is None:
            raise typer.BadParameter("--policy age needs --age, the fixed age in years")

    def chosen(self) -> "Policy":
        """The rule as the decisions take it."""
        from fleet.flow.due import Policy

        return Policy(
            rule=self.policy,
            limit=0.1 if self.risk is None else self.risk,
            within_years=1.0 if self.within_years is None else self.within_years,
            age_years=self.age,
        )
