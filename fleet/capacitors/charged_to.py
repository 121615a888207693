"""How many volts a place may hold, taken high where it is not sure. METHODS: discharge.

Common practice, no source: behind a mains rectifier stands the peak of the mains, and 400 V parts
are what is fitted there.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fleet.capacitors.both_ends import HARMFUL, HARMFUL_AC

MAINS_VOLTS = 400.0  # at least, where a place is on the mains or its voltage is not known
_ON_MAINS = re.compile(
    r"\b(mains|primary|line filter|pfc|bulk|motor[- ](run|start|capacitor)\w*)\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Charged:
    """`volts`: the most to reckon with; `assumed`: what was taken to be so, null where nothing."""

    volts: float
    assumed: str | None
    on_mains: bool


def charged_to(place: Mapping[str, Any]) -> Charged:
    """The most a place (voltage, current, safety_class, technology, role) may hold.

    Alternating volts count at their peak, and so do those of film places of which nobody told what
    they are of. A place on the mains, or of unknown voltage, counts with MAINS_VOLTS at least.
    """
    told = place.get("voltage")
    film = "film" in (place.get("technology") or "").lower()
    current = place.get("current")
    alternating = current == "ac" or (current is None and (bool(place.get("safety_class")) or film))
    on_mains = on_the_mains(place)
    if not told:
        return Charged(MAINS_VOLTS, f"its voltage is not known: {MAINS_VOLTS:g} V taken", on_mains)
    volts = told * math.sqrt(2.0) if alternating else told
    if on_mains and volts < MAINS_VOLTS:
        return Charged(MAINS_VOLTS, f"it is on the mains: {MAINS_VOLTS:g} V taken", True)
    if alternating:
        return Charged(volts, f"the peak of {told:g} V of alternating current", on_mains)
    return Charged(volts, None, on_mains)


def on_the_mains(place: Mapping[str, Any]) -> bool:
    """Whether a place is on the mains: by its safety class, its current, or its role."""
    return bool(
        place.get("safety_class")
        or place.get("current") == "ac"
        or _ON_MAINS.search(place.get("role") or "")
    )


def harmful(place: Mapping[str, Any]) -> bool:
    """Whether a place may carry more than ordinary people may touch, or nobody knows."""
    told = place.get("voltage")
    alternating = place.get("current") == "ac"
    return on_the_mains(place) or not told or told > (HARMFUL_AC if alternating else HARMFUL)
