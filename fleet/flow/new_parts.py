"""The life of the parts that go in, where it is said: years, or a part whose life is reckoned.

METHODS: new-parts, part-life
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.capacitors.part_life import (
    HOURS_PER_YEAR,
    MOST_YEARS,
    Rated,
    Use,
    part_life,
    years_of_units,
)
from fleet.capacitors.ten_kelvin import LEAST_C
from fleet.errors import BadInput
from fleet.flow.part_facts import rated_part

AS_BEFORE = ("typical", "same")  # lives read off the reports
_LEAST, _MOST = 0.5, 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NewLives:
    """Lives of what goes in (columns unit, new_life in days), and the sentences with them."""

    frame: pl.DataFrame
    notes: tuple[str, ...]


def new_lives(
    said: str, working: pl.DataFrame, records: Mapping[str, pl.DataFrame]
) -> NewLives | None:
    """What `said` means for the working units; None for "typical" and "same".

    `said`: years (a typical life, the Weibull scale), a part of the offers, or a part and the air
    beside it in °C (`NAME@55`). `records` has units and offers. Raises BadInput for anything else.
    """
    if said in AS_BEFORE:
        return None
    try:
        years = float(said)
    except ValueError:
        return _of_part(said, working, records)
    if not (math.isfinite(years) and _LEAST <= years <= _MOST):
        raise BadInput(
            f"new parts cannot last {said} years; give a number from {_LEAST:g} to {_MOST:g}"
        )
    lives = working.select("unit", new_life=pl.lit(years * DAYS_PER_YEAR))
    return NewLives(frame=lives, notes=(f"New parts: {_TYPICAL.format(f'{years:g}')}.",))


_TYPICAL = (
    "a typical life (Weibull scale) of {} years is taken for each set that goes in, with the shape "
    "the reports give; a life from a data sheet is an upper estimate, not a promise"
)


def _of_part(said: str, working: pl.DataFrame, records: Mapping[str, pl.DataFrame]) -> NewLives:
    name, air = said, None
    if "@" in said and records["offers"].filter(part=said).is_empty():
        name, _, degrees = said.rpartition("@")
        air = _degrees(degrees, said)
    if records["offers"].filter(part=name).is_empty():
        raise BadInput(
            f"new parts cannot be {said!r}; give typical, same, a number of years, or a part of "
            "the offers (fleet add offer enters one)"
        )
    rated = rated_part(records["offers"], name)
    if air is not None:
        part_life(rated, Use(air_c=air))  # refuses what the part is not made for
    sites = working.select("unit").join(
        records["units"].select("unit", "ambient_c", "hours_per_year").unique("unit", keep="last"),
        on="unit",
        how="left",
        maintain_order="left",
    )
    if air is not None:
        sites = sites.with_columns(ambient_c=pl.lit(air))
    hours = pl.col("hours_per_year")
    used = pl.when(hours > 0.0).then(hours)  # nobody powers a machine for no hours: not known
    lives = sites.select(
        "unit",
        new_life=years_of_units(rated, pl.col("ambient_c"), used) * DAYS_PER_YEAR,
        told=pl.col("ambient_c").is_not_null() & used.is_not_null(),
    )
    warmer = "" if air is not None else _WARMER.format(name=name)
    upper = _UPPER.format(warmer=warmer)
    return NewLives(frame=lives.drop("told"), notes=(_part_note(name, rated, lives, air), upper))


def _degrees(text: str, said: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise BadInput(
            f"new parts cannot be {said!r}; after the @ give the air beside the part in °C, like "
            "@55"
        ) from None


_UPPER = (
    "That is an upper estimate by the maker's rule, not a promise: {warmer}a set goes with the "
    "first of its parts."
)
_WARMER = (
    "the air inside a case is warmer than the room (say it after the name, like {name}@55), and "
)


def _part_note(name: str, rated: Rated, lives: pl.DataFrame, air: float | None) -> str:
    years = lives["new_life"] / DAYS_PER_YEAR
    least, most = years.min(), years.max()
    if not isinstance(least, float) or not isinstance(most, float):
        return f"New parts: {name}; no machine works for it to go into."
    span = f"{least:.3g}" if math.isclose(least, most) else f"{least:.3g} to {most:.3g}"
    blank = lives.height - int(lives["told"].sum())
    machines = "1 machine" if blank == 1 else f"{blank:,} machines"
    cool = f"{LEAST_C:g} °C and " if air is None else ""
    where = "each machine's room" if air is None else f"air of {air:g} °C"
    unknown = (
        f", {cool}{HOURS_PER_YEAR:,.0f} hours a year where blank ({machines})" if blank else ""
    )
    return (
        f"New parts: {name}, {rated.hours:,.0f} h at {rated.temperature_c:g} °C, taken by the "
        f"ten-kelvin rule to {where} and its powered hours{unknown}, at most {MOST_YEARS:g} years: "
        f"a typical life (Weibull scale) of {span} years for each set that goes in, with the shape "
        "the reports give."
    )
