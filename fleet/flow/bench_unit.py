"""What is known of a unit and its model, why it is due, and what was reported of it."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from fleet.flow.bench_facts import Event, Fact
from fleet.flow.bench_say import plain_sentence, when_said
from fleet.flow.read_aloud import number

_WHAT = {
    "working": "seen working",
    "failed": "failed",
    "recapped": "capacitors replaced",
    "repaired": "repaired, same capacitors",
    "board_swapped": "board swapped",
    "stored": "put into storage",
    "retired": "retired",
    "note": "note",
}
_ACTIONS = {
    "recap_now": "Recap now",
    "recap_when_due": "Recap when due",
    "measure": "Measure before deciding",
    "check_in": "Ask first whether it still works",
    "leave": "Leave it",
}
_Row = Mapping[str, Any]


def unit_facts(row: _Row) -> tuple[Fact, ...]:
    """What is recorded of a unit, each with its label; what is not is left out."""
    hours = row["hours_per_year"]
    warm = row["ambient_c"]
    return _facts(
        ("Serial number", row["serial"]),
        ("Built", when_said(row["manufactured"]) if row["manufactured"] else None),
        ("Where", row["site"]),
        ("In use", None if hours is None else f"{number(hours)} h a year"),
        ("Room", None if warm is None else f"{number(warm)} °C"),
        ("Notes on this machine", row["notes"]),
    )


def model_facts(
    row: _Row, records: Mapping[str, pl.DataFrame], model: str, as_of: date
) -> tuple[Fact, ...]:
    """What is recorded of a model, and how its recaps turned out."""
    made = [str(row[name]) for name in ("first_made", "last_made") if row.get(name)]
    hours = row.get("bench_hours")
    return _facts(
        ("Kind", row.get("kind")),
        ("Revision", row.get("revision")),
        ("Also called", (row.get("aliases") or "").replace(";", ", ") or None),
        ("Made", " to ".join(made) or None),
        ("Bench hours", None if hours is None else number(hours)),
        ("Recaps so far", _recaps(records, model, as_of)),
    )


def why_due(unit: str, due: pl.DataFrame | None, reports: pl.DataFrame) -> str:
    """Why the unit is on the bench: its line of the due list, or what was last reported of it."""
    row = None if due is None else next(due.filter(unit=unit).iter_rows(named=True), None)
    if row is not None:
        what = _ACTIONS.get(row["action"], row["action"])
        reason = plain_sentence(row["reason"] or "")
        said = reason.startswith(("Due on", "Overdue")) or "Due about" in reason
        dated = row["due_on"] is None or said
        when = "" if dated else f", due on {row['due_on'].isoformat()}"
        return f"{what}{when}. {reason}".strip()
    last = reports.filter(pl.col("kind") != "note").sort("date_latest", "record").tail(1)
    if last.is_empty():
        return "It is not in the due list: nothing was reported of it."
    kind, day = last.select("kind", "date").row(0)
    return f"It is not in the due list: last report {day}, {_WHAT.get(kind, kind)}."


def history(reports: pl.DataFrame) -> tuple[Event, ...]:
    """Reports on a unit, oldest first; sights of it working in a row are one line."""
    ordered = reports.sort("date_latest", "date_earliest", "record").with_columns(
        run=(pl.col("kind") != pl.col("kind").shift(1)).fill_null(value=True).cum_sum()
    )
    out = []
    for (_run,), rows in ordered.group_by("run", maintain_order=True):
        if rows["kind"][0] == "working" and rows.height > 1:
            out.append(
                Event(
                    date=f"{rows['date'][0]} to {rows['date'][-1]}",
                    what=_WHAT["working"],
                    details=f"{rows.height} times",
                )
            )
        else:
            out += [_event(row) for row in rows.iter_rows(named=True)]
    return tuple(out)


def _event(row: _Row) -> Event:
    cured = {True: "worked afterwards", False: "did not cure it", None: ""}[row["cured"]]
    said = [
        f"cause: {row['cause']}" if row["cause"] else "",
        f"positions {row['positions'].replace(';', ', ')}" if row["positions"] else "",
        f"batch {row['batch']}" if row["batch"] else "",
        f"because of {row['because']}" if row["because"] in ("failure", "reading") else "",
        row["because"] if row["because"] == "planned" else "",
        row["symptom"] or "",
        cured,
        row["notes"] or "",
    ]
    return Event(
        date=row["date"],
        what=_WHAT.get(row["kind"], str(row["kind"])),
        details="; ".join(part for part in said if part),
    )


def _recaps(records: Mapping[str, pl.DataFrame], model: str, as_of: date) -> str | None:
    """How its recaps turned out, the chance of the next one, and early failures beyond luck."""
    from fleet.flow.outcome_words import LUCK, early_words
    from fleet.flow.outcomes import EARLY_MONTHS, outcomes_of_model

    row = outcomes_of_model(records, model, as_of=as_of)
    if row is None or not row["jobs"]:
        return None
    said = (
        f"{row['cured']} of {row['jobs']} worked afterwards and did not fail early; the next one "
        f"succeeds with a chance of {100 * row['success']:.0f} in 100"
    )
    chance = row["early_chance"]
    if row["early_failed"] and chance is not None and chance < LUCK:
        said = f"{said}. {early_words(row, EARLY_MONTHS)}"
    return said


def _facts(*pairs: tuple[str, str | None]) -> tuple[Fact, ...]:
    return tuple(Fact(label=label, value=str(value)) for label, value in pairs if value)
