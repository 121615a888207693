"""One machine whole: its history, its lives, its readings, what contradicts, when it is due."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import polars as pl

from fleet.errors import NotKnown
from fleet.flow.known import entered_later, known_records
from fleet.flow.machine_conflicts import Disagreement, disagreements, flags
from fleet.flow.machine_events import machine_events
from fleet.flow.machine_lives import lay_out, lives_words
from fleet.flow.machine_readings import machine_readings, readings_words
from fleet.flow.next_steps import next_of
from fleet.flow.young_set import young_set_words

READ = ("sources", "models", "positions", "batches", "units", "reports", "readings")
_NAMED = 8  # machines named where a part of a name fits several
_FACTS = (
    ("Model", "model"),
    ("Serial", "serial"),
    ("Built", "manufactured"),
    ("Factory batch", "batch"),
    ("Site", "site"),
    ("Source", "source"),
    ("In these records since", "enrolled_on"),
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class OneMachine:
    """What is known of a machine on a day.

    `facts`: label and text; `notes`: of its record; `events`: machine_events.EVENTS; `sets`,
    `failures`: lives.UNIT_SETS, UNIT_FAILURES; `stretches`, `marks`: machine_lives, to be drawn;
    `readings`: MACHINE_READINGS; `disagreements`; `due`: its row of the due list (frames.DUE, ages
    in days) or None; `not_due`: why it is not on that list, if it is not; `said`: sentences on its
    lives; `next_step`: what to do next, with its command, where that is known.
    """

    unit: str
    model: str | None
    facts: tuple[tuple[str, str], ...]
    notes: str | None
    events: pl.DataFrame
    sets: pl.DataFrame
    failures: pl.DataFrame
    stretches: pl.DataFrame
    marks: pl.DataFrame
    readings: pl.DataFrame
    readings_said: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    due: Mapping[str, Any] | None
    not_due: str
    said: tuple[str, ...]
    next_step: str | None = None


def one_machine(
    store: Path, unit: str, *, as_of: date, due: pl.DataFrame | None = None
) -> OneMachine:
    """The machine called `unit` as known on `as_of`. `due`: the due list of that day (frames.DUE);
    without it no due date is told. Raises NotKnown for a name no record has on that day.
    """
    from fleet.lives import build_lives
    from fleet.lives.unit_sets import build_unit_sets

    known = known_records(store, READ, as_of=as_of, unit=unit)
    if known["units"].is_empty():
        raise NotKnown(
            f"there is no unit {unit} in the records as known on {as_of}; look for part of its "
            "name, or ask as of a later day"
        )
    found = build_unit_sets(known, as_of=as_of)
    built = build_lives(known, as_of=as_of)
    wrong = disagreements(found.disagree, built.twice_told, known)
    row = known["units"].row(0, named=True)
    mine = None if due is None else next(iter(due.filter(unit=unit).iter_rows(named=True)), None)
    stretches, marks = lay_out(
        found.sets, found.failures, as_of=as_of, due_on=None if mine is None else mine["due_on"]
    )
    events = machine_events(store, unit, known, as_of=as_of, flagged=flags(wrong))
    readings = machine_readings(known["readings"], known["positions"], row["model"])
    said = (
        (f"{unit} has records that contradict each other, so that its lives are not drawn.",)
        if any(one.what == "contradicts" for one in wrong)
        else lives_words(unit, found.sets, found.failures, as_of=as_of)
    )
    return OneMachine(
        unit=unit,
        model=row["model"],
        facts=_facts(row),
        notes=row["notes"],
        events=events,
        sets=found.sets,
        failures=found.failures,
        stretches=stretches,
        marks=marks,
        readings=readings,
        readings_said=readings_words(readings),
        disagreements=wrong,
        due=mine,
        not_due=_why_not_due(found.sets, built.left_out, wrong),
        said=(
            *said,
            *young_set_words(store, row["model"], found.sets, as_of=as_of),
            *entered_later(store, as_of=as_of, unit=unit),
        ),
        next_step=_next_step(unit, found.sets, mine),
    )


def _next_step(unit: str, sets: pl.DataFrame, due: Mapping[str, Any] | None) -> str | None:
    if due is not None:
        return next_of(due["action"], unit)
    present = sets.row(-1, named=True) if sets.height else None
    dead = present is not None and present["failed"] and present["ended_by"] != "retired"
    return next_of(None, unit) if dead else None


def find_unit(units: pl.DataFrame, text: str) -> str:
    """The one unit whose name is `text`, or whose name or serial holds it, case aside.

    `units`: unit and serial. Raises NotKnown where none does, with near names, or several do.
    """
    wanted = text.strip()
    names = units["unit"].unique(maintain_order=True).to_list()
    if wanted in names:
        return wanted
    low = wanted.lower()
    held = [
        pl.col(column).str.to_lowercase().str.contains(low, literal=True).fill_null(value=False)
        for column in ("unit", "serial")
    ]
    hits = units.filter(pl.any_horizontal(held))["unit"].unique(maintain_order=True).to_list()
    same = [name for name in hits if name.lower() == low]
    if len(same) == 1 or len(hits) == 1:
        return str((same or hits)[0])
    if hits:
        more = f" and {len(hits) - _NAMED} more" if len(hits) > _NAMED else ""
        raise NotKnown(
            f"{len(hits)} units have {wanted} in their name or serial: "
            f"{', '.join(hits[:_NAMED])}{more}; write more of the one you mean"
        )
    near = get_close_matches(wanted, names)
    hint = f"; did you mean {', '.join(near)}?" if near else ""
    raise NotKnown(f"no unit has {wanted} in its name or serial{hint}")


def _facts(row: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    from fleet.flow.read_aloud import number

    found = [(label, row[column]) for label, column in _FACTS]
    if row["hours_per_year"] is not None:
        found.append(("In use", f"{number(row['hours_per_year'])} h a year"))
    if row["ambient_c"] is not None:
        found.append(("Room", f"{number(row['ambient_c'])} °C"))
    return tuple((label, str(value)) for label, value in found if value)


def _why_not_due(
    sets: pl.DataFrame, left_out: pl.DataFrame, wrong: tuple[Disagreement, ...]
) -> str:
    """Why a machine is not on the due list, in a sentence."""
    if any(one.what == "contradicts" for one in wrong):
        return "It is not on the due list until its records agree."
    present = sets.row(-1, named=True) if sets.height else None
    if present is not None:
        if present["ended_by"] == "retired":
            return "It was retired, so that nothing is due."
        if present["failed"]:
            return (
                "It failed and has not been seen working since, so that nothing is due: log what "
                "became of it."
            )
        if present["in_vain"] and present["last_working"] is None:
            return "It has not been seen working since its capacitors were replaced."
        if present["last_working"] is None:
            return "Nobody has ever reported it working, so that it has no due date."
    reasons = left_out["reason"].unique(maintain_order=True).to_list()
    if reasons:
        return f"It is not on the due list: {'; '.join(reasons)}."
    return "It is not thought to be working, so that it has no due date."
