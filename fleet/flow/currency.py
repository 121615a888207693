"""Sums are made in one currency or not at all."""

from collections.abc import Mapping

from fleet.errors import BadInput


def one_currency(told: Mapping[str, str | None]) -> str | None:
    """The one currency in which costs are told, by who tells it; None where nobody says.

    Raises BadInput for two.
    """
    said = {who: text.strip().upper() for who, text in told.items() if text and text.strip()}
    if len(set(said.values())) > 1:
        each = ", ".join(f"{who} in {text}" for who, text in said.items())
        raise BadInput(
            f"prices are in two currencies ({each}); enter them in one (fleet amend corrects a "
            "record)"
        )
    return next(iter(said.values()), None)
