"""What changed between two days: each answer as it was known then, beside as it is known now.

METHODS: changed
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.flow.changed_due import due_changes
from fleet.flow.changed_reports import report_changes
from fleet.flow.changed_rows import CHANGED
from fleet.flow.changed_verdicts import verdict_changes
from fleet.flow.changed_words import changed_words
from fleet.flow.due import due
from fleet.flow.known import known_records
from fleet.flow.suspects import suspects

__all__ = ["CHANGED", "Changed", "changed", "changed_batches", "changed_due", "changed_reports"]

_READ = ("units", "reports")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Changed:
    """`frame` (CHANGED, in the order of `changed_rows.WHAT`); `said`: it in sentences."""

    frame: pl.DataFrame
    said: tuple[str, ...]


def changed(store: Path, *, since: date, as_of: date, batches: bool = True) -> Changed:
    """What came to be known after `since` and until `as_of`, and what it did to the answers.

    Both due lists rest on the records visible on their own day, so that a report dated earlier and
    entered later counts as new. `batches`: verdicts on batches too, which take longest. Raises
    BadInput where `since` is not before `as_of`.
    """
    check_days(since, as_of)
    parts = [
        changed_reports(store, since=since, as_of=as_of),
        changed_due(store, since=since, as_of=as_of),
    ]
    if batches:
        parts.append(changed_batches(store, since=since, as_of=as_of))
    frame = pl.concat(parts)
    return Changed(frame=frame, said=changed_words(frame, since=since, batches=batches))


def changed_reports(store: Path, *, since: date, as_of: date) -> pl.DataFrame:
    """New, corrected and withdrawn reports (CHANGED)."""
    check_days(since, as_of)
    then = known_records(store, _READ, as_of=since)
    return report_changes(then, known_records(store, _READ, as_of=as_of))


def changed_due(store: Path, *, since: date, as_of: date) -> pl.DataFrame:
    """Machines that came onto the due list, left it, or are told otherwise now (CHANGED)."""
    check_days(since, as_of)
    then, now = (due(store, as_of=day).frame for day in (since, as_of))
    return due_changes(then, now, known_records(store, _READ, as_of=as_of))


def changed_batches(store: Path, *, since: date, as_of: date) -> pl.DataFrame:
    """Batches whose verdict is another one now (CHANGED)."""
    check_days(since, as_of)
    then, now = (suspects(store, as_of=day).frame for day in (since, as_of))
    return verdict_changes(then, now)


def check_days(since: date, as_of: date) -> None:
    """Raise BadInput where there is no time between the two days."""
    if since >= as_of:
        raise BadInput(
            f"nothing lies between {since} and {as_of}; give a day before {as_of}, as of which "
            "the answers are asked for"
        )
