"""Amounts and ages that options give, and what is odd about costs."""

import math

import polars as pl

from fleet.errors import BadInput
from fleet.records.impossible import LEAST_COST, MOST_MONEY, MOST_PARTS_YEARS


def check_cost(value: float | None, what: str) -> None:
    """Raises BadInput unless a cost is not given, or a number above zero that can be reckoned."""
    if value is not None and not (math.isfinite(value) and value > 0.0):
        raise BadInput(f"the {what} cost is {value:g}; give a number above zero")
    if value is not None and not LEAST_COST <= value <= MOST_MONEY:
        raise BadInput(
            f"the {what} cost is {value:g}; give an amount from {LEAST_COST:.6f} to "
            f"{MOST_MONEY:,.0f}, in larger or smaller units of money if need be"
        )


def check_price(value: float | None, what: str) -> None:
    """Raises BadInput unless a price is not given, or a number from zero to the most money."""
    if value is not None and not (math.isfinite(value) and value >= 0.0):
        raise BadInput(f"{what} is {value:g}; give a number that is not negative")
    if value is not None and value > MOST_MONEY:
        raise BadInput(f"{what} is {value:g}; give an amount up to {MOST_MONEY:,.0f}")


def check_parts_age(value: float | None, what: str) -> None:
    """The same for an age of parts in years."""
    if value is not None and not (math.isfinite(value) and value >= 0.0):
        raise BadInput(f"{what} is {value:g}; give a number that is not negative")
    if value is not None and value > MOST_PARTS_YEARS:
        raise BadInput(
            f"{what} is {value:g} years; give an age up to {MOST_PARTS_YEARS:g}, as nothing is "
            "known of older electrolytic capacitors"
        )


def cheap_failures(costs: pl.DataFrame) -> tuple[str, ...]:
    """A sentence where a failure is said to cost less than a planned recap; `costs` with columns
    model, planned_cost, failure_cost.
    """
    odd = costs.filter(pl.col("failure_cost") < pl.col("planned_cost")).sort("model")
    if odd.is_empty():
        return ()
    names = ", ".join(odd["model"])
    first = odd.row(0, named=True)
    return (
        f"Model {names}: a failure is said to cost less ({first['failure_cost']:g}) than a planned "
        f"recap ({first['planned_cost']:g}); the cost of a failure should include the recap after "
        "it, so correct one of them. As it is, no recap in time can pay",
    )
