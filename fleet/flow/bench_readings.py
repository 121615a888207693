"""Readings taken earlier at each place of a unit, and what others of its model read there."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from fleet.capacitors.both_ends import oddity
from fleet.flow.bench_facts import Measured
from fleet.flow.bench_say import plain_sentence
from fleet.flow.read_aloud import number

_FACTS = ("esr_ohm", "capacitance", "voltage")
_FEW = 2  # other machines below which nothing is said of what they read


def readings_by_place(
    readings: pl.DataFrame, positions: pl.DataFrame, unit: str
) -> dict[str, tuple[Measured, ...]]:
    """Readings of `unit` by position, oldest first, each with what is wrong or odd about it.

    `positions`: those of its model, one row each.
    """
    judged = _judged(readings.filter(unit=unit), positions).sort(
        "date_latest", _stage_order(), "record"
    )
    out: dict[str, list[Measured]] = {}
    for row in judged.iter_rows(named=True):
        out.setdefault(row["position"], []).append(_measured(row))
    return {position: tuple(found) for position, found in out.items()}


def elsewhere(
    readings: pl.DataFrame, positions: pl.DataFrame, units: Sequence[str], unit: str | None
) -> dict[str, str]:
    """What good parts in other machines of the model read at each position, in a sentence.

    Readings after a recap or at a check, none of them bad; nothing where fewer than two machines
    were read. Medians: one slip of the pencil does not move them.
    """
    others = readings.filter(
        pl.col("unit").is_in(list(units)) & pl.col("stage").is_in(["after", "check"])
    )
    if unit is not None:
        others = others.filter(pl.col("unit") != unit)
    good = _judged(others, positions).filter(pl.col("verdict").fill_null("good") != "bad")
    middle = good.group_by("position", maintain_order=True).agg(
        pl.col("volts_positive", "volts_negative", "esr_ohm").median(),
        pl.col("unit").n_unique().alias("units"),
    )
    said = {}
    for row in middle.filter(pl.col("units") >= _FEW).iter_rows(named=True):
        numbers = _numbers(row)
        if numbers:
            said[row["position"]] = f"{numbers} (middle of {row['units']} other machines)"
    return said


def _judged(readings: pl.DataFrame, positions: pl.DataFrame) -> pl.DataFrame:
    from fleet.capacitors import judge_readings

    facts = positions.select(
        "position",
        "ground_referenced",
        "grounded_end",
        *(pl.col(name).alias(f"fact_{name}") for name in _FACTS),
        fact_polarity="polarity_note",
    )
    known = readings.filter(pl.col("position") != "hours").join(facts, on="position", how="left")
    return judge_readings(known)


def _measured(row: Mapping[str, Any]) -> Measured:
    odd = oddity(
        row["volts_positive"],
        row["volts_negative"],
        row["ground_referenced"],
        row["grounded_end"],
    )
    said = [
        "beyond its limit" if row["verdict"] == "bad" else "",
        odd or "",
        "in circuit" if row["in_circuit"] else "",
    ]
    remark = "; ".join(part for part in said if part)
    return Measured(
        date=row["date"],
        stage=row["stage"] or "check",
        volts_positive=row["volts_positive"],
        volts_negative=row["volts_negative"],
        esr_ohm=row["esr_ohm"],
        capacitance=row["capacitance"],
        remark=plain_sentence(remark) if remark else None,
    )


def _stage_order() -> pl.Expr:
    order = {"check": 0, "before": 1, "after": 2}
    return pl.col("stage").replace_strict(order, default=0, return_dtype=pl.Int64)


def _numbers(row: Mapping[str, Any]) -> str:
    said = [
        f"+ end {number(row['volts_positive'])} V" if row["volts_positive"] is not None else "",
        f"− end {number(row['volts_negative'])} V" if row["volts_negative"] is not None else "",
        f"{number(row['esr_ohm'])} ohm ESR" if row["esr_ohm"] is not None else "",
    ]
    return ", ".join(part for part in said if part)
