"""Facts of a place or a part as they are typed: read, contradictory, or still to be measured."""

from collections.abc import Mapping
from typing import Any

import polars as pl

_YES_NO = {"yes": True, "no": False}


def read_line(text: str) -> dict[str, str]:
    """`1000uF 25V 105C 10x20 radial` as columns of record kinds positions and offers, as text.

    Raises BadInput with the word that is not read, or what is missing or said twice.
    """
    from fleet.capacitors.read_facts import read_facts

    return {
        name: f"{value:g}" if isinstance(value, float) else str(value)
        for name, value in read_facts(text).items()
    }


def look_at(facts: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """What cannot all be true of these facts, a sentence each; and what an order needs besides.

    `facts`: columns of a place or a part, as text or as records hold them; blanks count as absent.
    """
    from fleet.capacitors.contradictory import contradictions
    from fleet.capacitors.facts import NUMBERS
    from fleet.capacitors.gaps import position_gaps

    told: dict[str, Any] = {"model": "", "position": ""}
    for name, value in facts.items():
        if value is None or value == "":
            continue
        told[name] = float(value) if name in NUMBERS else _YES_NO.get(value, value)
    row = pl.DataFrame([told])
    wrong = contradictions(row, of=("model", "position"))["sentence"].to_list()
    gaps = position_gaps(row)
    return wrong, gaps["missing"][0].to_list() if gaps.height else []
