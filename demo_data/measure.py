"""Readings on the bench: worn capacitors read high, and are told by it a year or two ahead."""

import math
from dataclasses import dataclass

from demo_data.catalogue import fresh_values
from demo_data.fates import Machine
from demo_data.luck import DAYS_PER_YEAR, Luck

FRESH = fresh_values()
LIMIT = "twice a fresh part"
_FACTOR = 2.0
_METERS = ("bench bridge", "pocket ESR meter")


@dataclass(slots=True)
class Reading:
    """One measurement of one position; `worn`: above the limit used."""

    day: int
    position: str
    stage: str
    esr: str
    capacitance: str
    in_circuit: bool
    instrument: str
    worn: bool


def measure(machine: Machine, day: int, stage: str, luck: Luck) -> list[Reading]:
    """Measure the three positions that carry most of the risk."""
    weights = machine.model.weights
    chosen = sorted(weights, key=lambda p: -weights[p])[:3]
    instrument = luck.pick(_METERS)
    return [_one(machine, position, day, stage, instrument, luck) for position in chosen]


def recap_readings(
    before: list[Reading], chosen: list[str], machine: Machine, luck: Luck
) -> list[Reading]:
    """The readings taken before a recap, and those of the new parts after it."""
    after = [
        _one(machine, r.position, r.day, "after", r.instrument, luck)
        for r in before
        if not chosen or r.position in chosen
    ]
    return before + after


def _one(
    machine: Machine, position: str, day: int, stage: str, instrument: str, luck: Luck
) -> Reading:
    fresh, printed = FRESH[(machine.model.name, position)]
    left = (machine.board.ends[position] - day) / DAYS_PER_YEAR
    wear = 4.0 if left <= 0 else 4.0 * math.exp(-left / 1.2)
    ratio = (0.75 if stage == "after" else 0.9 + wear) * luck.lognormal(0.12)
    share = max(0.2, 1.0 - 0.15 * wear) * luck.lognormal(0.04)
    in_circuit = stage == "check"
    nominal = float(printed.replace("4u7", "4.7").removesuffix("uF"))
    capacitance = "" if in_circuit else f"{_three(nominal * share)}uF"
    worn = ratio > _FACTOR
    esr = _three(fresh * ratio)
    return Reading(day, position, stage, esr, capacitance, in_circuit, instrument, worn)


def _three(value: float) -> str:
    """Three significant figures, never in powers of ten."""
    digits = 2 - math.floor(math.log10(value))
    return f"{round(value, digits):.{max(0, digits)}f}"
