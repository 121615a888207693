"""What a part is rated for, read off the records."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet.capacitors.part_life import Rated
from fleet.errors import BadInput, NotKnown

_FACTS = (
    "rated_hours",
    "temperature",
    "voltage",
    "ripple_ma",
    "esr_ohm",
    "diameter_mm",
    "length_mm",
    "technology",
    "lead_form",
)


def rated_part(offers: pl.DataFrame, part: str) -> Rated:
    """The ratings of a part in the offers. Raises NotKnown or BadInput in a sentence."""
    return rated_from(part_facts(offers, part), part)


def part_facts(offers: pl.DataFrame, part: str) -> dict[str, Any]:
    """Facts of a part, each as last entered in any of its offers; None where none tells it.

    Raises NotKnown for a part that no offer names.
    """
    rows = offers.filter(pl.col("part") == part)
    if rows.is_empty():
        raise NotKnown(
            f"there is no part {part!r} in the offers; enter it with fleet add offer, or give its "
            "facts (--rated-hours, --temperature)"
        )
    return rows.select(pl.col(_FACTS).drop_nulls().last()).row(0, named=True)


def rated_from(facts: Mapping[str, Any], name: str) -> Rated:
    """Ratings from facts; BadInput where the rated hours or the temperature are unknown."""
    missing = [w for w, key in (("rated hours", "rated_hours"), ("temperature", "temperature"))
               if facts.get(key) is None]  # fmt: skip
    if missing:
        raise BadInput(
            f"the {' and the '.join(missing)} of {name} are not known; its data sheet says (enter "
            "it with fleet amend, or give --rated-hours and --temperature)"
        )
    return Rated(
        hours=float(facts["rated_hours"]),
        temperature_c=float(facts["temperature"]),
        volts=facts.get("voltage"),
        ripple_ma=facts.get("ripple_ma"),
        technology=facts.get("technology"),
    )


def position_facts(positions: pl.DataFrame, model: str | None, position: str) -> dict[str, Any]:
    """The same of what a model's position asks for. Raises NotKnown where there is none."""
    if model is None:
        raise BadInput(f"position {position} of which model? Name it with --model")
    rows = positions.filter((pl.col("model") == model) & (pl.col("position") == position))
    if rows.is_empty():
        raise NotKnown(
            f"model {model} has no position {position} in the store; enter it with fleet add "
            "position, or give --rated-hours and --temperature"
        )
    return rows.select(pl.col(_FACTS).drop_nulls().last()).row(0, named=True)
