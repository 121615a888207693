"""The resistor for a board: worked for the highest voltage and the highest capacitance on it."""

import re
from collections.abc import Mapping

import polars as pl

from fleet.capacitors.charged_to import charged_to
from fleet.capacitors.discharge import discharge
from fleet.flow.bench_facts import WorstCharge


def worst_charge(positions: pl.DataFrame, farads: Mapping[str, float | None]) -> WorstCharge | None:
    """The resistor that no place of the board overloads, and the wait that is enough for all.

    `farads`: the capacitance of each position as read from its text. The highest voltage and the
    highest capacitance need not be of one place; together they are worse than any. None where no
    capacitance is known, as then there is no time to tell.
    """
    rows = positions.rows(named=True)
    held = {
        row["position"]: value * (1.0 + _tolerance(row["tolerance"]))
        for row in rows
        if (value := farads.get(row["position"]))
    }
    if not held:
        return None
    charged = {row["position"]: charged_to(row) for row in rows}
    at_volts = max(charged, key=lambda name: (charged[name].volts, name in held))
    at_farads = max(held, key=lambda name: held[name])
    volts = charged[at_volts].volts
    return WorstCharge(
        at_volts=at_volts,
        at_farads=at_farads,
        discharge=discharge(held[at_farads], volts, tolerance=0.0),
        assumed=tuple(
            f"{name}: {one.assumed}" for name, one in charged.items() if one.assumed is not None
        ),
        untimed=tuple(name for name in charged if name not in held),
    )


def read_farads(positions: pl.DataFrame) -> dict[str, float | None]:
    """The capacitance of each position in farads; None where its text is not read."""
    from fleet.capacitors.values import farads

    read = positions.select("position", farads=farads(pl.col("capacitance")))
    return dict(read.iter_rows())


def _tolerance(text: str | None) -> float:
    """The upper tolerance of `20%`, `-20/+80 %` as a share; 20 % where it is not read."""
    found = re.findall(r"(\d+(?:\.\d+)?)\s*%?", text or "")
    return max((float(value) / 100.0 for value in found), default=0.2)
