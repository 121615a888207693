"""How long a part of the records, or one whose facts are told, is expected to last in a place.

METHODS: part-life
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.capacitors.part_life import PROMISE, PartLife, Rated, Use, part_life
from fleet.capacitors.ripple_heat import Ripple, air_from_can, can_rise, joined_ripple
from fleet.capacitors.ten_kelvin import LEAST_C
from fleet.errors import BadInput, FleetError
from fleet.flow.known import known_records
from fleet.flow.part_facts import part_facts, position_facts, rated_from

__all__ = ["LIFE", "LifeAnswer", "Place", "Ripple", "life_by_air", "life_of_part"]

_STEPS = (-20.0, -10.0, 10.0, 20.0)  # kelvin around the air told
_BEYOND_ANY_RULE = 1e6  # times the rated ripple; refused by the rules themselves, later on
LIFE = pl.Schema(
    {
        "part": pl.String(),
        "air_c": pl.Float64(),
        "hours": pl.Float64(),
        "years": pl.Float64(),
        "years_by_rule": pl.Float64(),
        "capped": pl.Boolean(),
        "temperature_factor": pl.Float64(),
        "ripple_factor": pl.Float64(),
        "voltage_factor": pl.Float64(),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where and how a part works. `air_c` beside it while it runs, or `can_c` on its can's top.

    `told`: facts given by hand (rated_hours, temperature, voltage, ripple_ma, diameter_mm,
    lead_form, technology), before what the records say.
    """

    air_c: float | None = None
    can_c: float | None = None
    ripple: Sequence[Ripple] = ()
    volts: float | None = None
    hours_per_year: float = 8760.0
    off_c: float | None = None
    large_can: bool | None = None  # None: a snap-in part is one
    criterion: str | None = None
    core_rise_k: float | None = None
    told: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LifeAnswer:
    """Lives (LIFE), the sentences with them, and those of them that warn of the number itself."""

    frame: pl.DataFrame
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


def life_of_part(
    store: Path | None,
    part: str | None,
    place: Place,
    *,
    as_of: date,
    model: str | None = None,
    position: str | None = None,
) -> LifeAnswer:
    """The life of a part (the first row), and of the same in cooler and warmer air below it.

    Columns as LIFE. The part is one of the offers, or the one a model's position asks for, or
    known by what is told alone. Raises BadInput or NotKnown in a sentence for facts that are
    missing or cannot be.
    """
    case = _case(store, part, place, as_of=as_of, model=model, position=position)
    life = case.life(case.use.air_c, criterion=place.criterion)
    rows = [_row(case.name, case.use.air_c, life)]
    for air in (case.use.air_c + step for step in _STEPS):
        with suppress(FleetError):  # beyond what the part is made for: no row
            rows.append(_row(case.name, air, case.life(air)))
    frame = pl.DataFrame(rows, schema=LIFE, orient="row")
    can = _can(case.facts, case.use)
    notes = (*case.said, *life.sentences[:-1], *can, PROMISE)
    return LifeAnswer(frame=frame, notes=notes, warnings=life.warnings)


def life_by_air(store: Path | None, part: str | None, place: Place, *, as_of: date) -> pl.DataFrame:
    """The same part in air from 40 °C up to its rating, a row for each degree: columns as LIFE."""
    case = _case(store, part, place, as_of=as_of)
    degrees = range(int(LEAST_C), int(case.rated.temperature_c) + 1)
    rows = [_row(case.name, float(air), case.life(float(air))) for air in degrees]
    return pl.DataFrame(rows, schema=LIFE, orient="row")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A part in its place, ready to be reckoned in any air."""

    name: str
    facts: dict[str, Any]
    rated: Rated
    use: Use
    large: bool
    said: tuple[str, ...]

    def life(self, air: float, *, criterion: str | None = None) -> PartLife:
        use = replace(self.use, air_c=air)
        return part_life(self.rated, use, large_can=self.large, criterion=criterion)


def _case(
    store: Path | None,
    part: str | None,
    place: Place,
    *,
    as_of: date,
    model: str | None = None,
    position: str | None = None,
) -> _Case:
    name, facts = _facts(store, part, place, as_of=as_of, model=model, position=position)
    rated = rated_from(facts, name)
    if place.core_rise_k is not None:
        rated = replace(rated, core_rise_k=place.core_rise_k)
    air, said = _air(place, rated, facts)
    use = Use(
        air_c=air,
        ripple=tuple(place.ripple),
        volts=place.volts,
        hours_per_year=place.hours_per_year,
        off_c=place.off_c,
    )
    snap_in = facts.get("lead_form") == "snap-in"
    large = snap_in if place.large_can is None else place.large_can
    return _Case(name=name, facts=facts, rated=rated, use=use, large=large, said=said)


def _can(facts: Mapping[str, Any], use: Use) -> tuple[str, ...]:
    """How much warmer its can runs by its ESR and size, where all of that is known."""
    esr, diameter, length = (facts.get(name) for name in ("esr_ohm", "diameter_mm", "length_mm"))
    if not use.ripple or esr is None or diameter is None or length is None:
        return ()
    rise = can_rise(joined_ripple(use.ripple), float(esr), float(diameter), float(length))
    return (
        f"By its ESR and size its can runs about {rise:.1f} K above the air at this ripple; where "
        "it runs warmer, its ESR has risen or more ripple flows (measure without touching: a can "
        "may be live).",
    )


def _facts(
    store: Path | None,
    part: str | None,
    place: Place,
    *,
    as_of: date,
    model: str | None,
    position: str | None,
) -> tuple[str, dict[str, Any]]:
    """The name of the part in words, and its facts."""
    told = {name: value for name, value in (place.told or {}).items() if value is not None}
    if part is not None and position is not None:
        raise BadInput("give a part, or a model and its position, not both")
    if part is not None and store is not None:
        offers = known_records(store, ("offers",), as_of=as_of)["offers"]
        return part, {**part_facts(offers, part), **told}
    if position is not None and store is not None:
        places = known_records(store, ("positions",), as_of=as_of)["positions"]
        name = f"position {position} of {model}"
        return name, {**position_facts(places, model, position), **told}
    if not told:
        raise BadInput(
            "name a part of the offers, or a model and its position, or give --rated-hours and "
            "--temperature"
        )
    return "as told", told


def _air(place: Place, rated: Rated, facts: Mapping[str, Any]) -> tuple[float, tuple[str, ...]]:
    """The air beside the part, and a sentence where it was reckoned from its can."""
    if place.air_c is not None and place.can_c is None:
        return place.air_c, ()
    if place.can_c is None or place.air_c is not None:
        raise BadInput(
            "give either the air beside the part (--ambient) or the temperature measured on its "
            "can's top (--can-top)"
        )
    diameter = facts.get("diameter_mm")
    if diameter is None:
        raise BadInput("the can's diameter is not known; give --diameter in mm")
    share = 1.0
    if place.ripple and rated.ripple_ma:
        share = min(joined_ripple(place.ripple) / rated.ripple_ma, _BEYOND_ANY_RULE)
    air = air_from_can(place.can_c, rated.core_rise_k * share**2, float(diameter))
    return air, (f"A can top of {place.can_c:g} °C goes with air of {air:.1f} °C.",)


def _row(name: str, air: float, life: PartLife) -> tuple[Any, ...]:
    return (
        name,
        air,
        life.hours,
        life.years,
        life.years_by_rule,
        life.capped,
        life.temperature_factor,
        life.ripple_factor,
        life.voltage_factor,
    )
