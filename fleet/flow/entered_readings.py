"""Readings typed with a report: what is refused, and what is odd enough to say at once.

METHODS: readings, both-ends
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.flow.entered_places import unknown_places
from fleet.flow.known import as_entered

_PRINTED = frozenset({"BATCH", "NAME", "LIST", "UNIT", "POSITION", "POSITIONS", "DATE", "MODEL"})
_BLANK_LINE = re.compile(r"[_.\u2026-]*(?:_{2,}|\.{2,}|\u2026)[_.\u2026-]*|_")
_MEASURED = ("volts_positive", "volts_negative", "esr_ohm", "capacitance")
# A fresh part may read half as much again as its position's value: meter, leads, a cool room.
FRESH_TIMES = 1.5  # our own rule, no source
# Read a thousand times too large (kilo-ohms taken for ohms), even a part better than its position
# asks for reads this much; one that has merely dried out seldom does. Our own rule, no source.
SLIP_TIMES = 300.0


def refuse_placeholders(fields: Mapping[str, str]) -> None:
    """BadInput for a word that a sheet prints where something is to be filled in."""
    for column, value in fields.items():
        text = value.strip()
        if _BLANK_LINE.fullmatch(text) or (column not in ("notes", "symptom") and text in _PRINTED):
            raise BadInput(
                f"{column} is {text}, as printed: fill it in, or leave it out where it is not known"
            )


def refuse_empty(readings: Sequence[Mapping[str, str]]) -> None:
    """BadInput for a reading that holds no number."""
    for one in readings:
        refuse_placeholders(one)
        if not any((one.get(column) or "").strip() for column in _MEASURED):
            when = f" ({one['stage']})" if one.get("stage") else ""
            raise BadInput(
                f"the reading of {one.get('position')}{when} holds no value; fill in what was "
                "read, or leave it out"
            )


def refuse_unsaid_positions(
    kind: str, fields: Mapping[str, str], readings: Sequence[Mapping[str, str]]
) -> None:
    """BadInput for a recap with readings of some positions and no word of which were replaced."""
    measured = dict.fromkeys(r["position"] for r in readings if r.get("position") != "hours")
    if kind == "recapped" and measured and not fields.get("positions"):
        raise BadInput(
            f"there are readings of {', '.join(measured)}, and which positions were replaced is "
            f"not said: give positions as all, or as a list such as {';'.join([*measured][:2])}"
        )


def oddities(store: Path, readings: pl.DataFrame) -> tuple[str, ...]:
    """Sentences on readings (clean rows of the kind) that look wrong for their places."""
    from fleet.flow.position_readings import with_facts

    tables = as_entered(store, ("units", "positions"))
    places = tables["positions"].sort("record").unique(["model", "position"], keep="last")
    ends = places.select("model", "position", "ground_referenced", "grounded_end", "current")
    told = with_facts(readings, tables["positions"], tables["units"]).join(
        ends, on=["model", "position"], how="left", maintain_order="left"
    )
    return tuple(said for row in told.iter_rows(named=True) for said in _of_one(row))


def _of_one(row: Mapping[str, object]) -> Iterator[str]:
    from fleet.capacitors.both_ends import oddity

    where = f"{row['position']} {row['stage'] or 'check'}"
    either = re.search(r"(?i)non.?polar|bipolar", str(row["fact_polarity"] or ""))
    if not either and row["current"] != "ac":
        odd = oddity(
            _number(row["volts_positive"]),
            _number(row["volts_negative"]),
            row["ground_referenced"] if isinstance(row["ground_referenced"], bool) else None,
            None if row["grounded_end"] is None else str(row["grounded_end"]),
        )
        if odd:
            yield f"{where}: {odd}; look again before power goes on"
    esr, fresh = _number(row["esr_ohm"]), _number(row["fact_esr_ohm"])
    if row["stage"] == "after" and esr is not None and fresh is not None:
        most = FRESH_TIMES * fresh
        if esr > most:
            yield (
                f"{where}: {esr:g} ohm, where a fresh part reads about {fresh:g} ohm and no more "
                f"than {most:.3g} (half as much again for meter and leads): see the joint, the "
                "part and the meter's range"
            )
    elif esr is not None and fresh is not None and esr > SLIP_TIMES * fresh:
        yield (
            f"{where}: {esr:g} ohm, where a fresh part reads about {fresh:g} ohm: see that the "
            "meter was not on another range (ohm or kilo-ohm)"
        )


def odd_ahead(
    store: Path, unit: str, readings: Sequence[Mapping[str, str]], *, today: date
) -> tuple[str, ...]:
    """What would be said of readings of a unit if they were saved: odd values, unknown places.

    Raises BadInput for a value that cannot be.
    """
    from fleet.flow.prepare import prepare

    rows = [{"unit": unit, "date": today.isoformat(), **reading} for reading in readings]
    tables = prepare(store, {"readings": rows}, today=today, by=None).tables
    return (*oddities(store, tables["readings"]), *unknown_places(store, tables))


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None
