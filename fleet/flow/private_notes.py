"""An owner's private notes on a machine: who may see them, and writing them.

They are kept in the store and in its backups and stay there: nothing else that reads records is
given them, so that no list, export, report, sheet or page can show them by oversight. Those who
look after machines see them on the page of that machine; at the command line, whoever holds the
store's file does, where they ask for them by name.
"""

from datetime import date
from pathlib import Path

from fleet.errors import BadInput, NotKnown
from fleet.flow.access import Person
from fleet.flow.entering import Entered, amend_record

MOST = 10_000  # characters


def may_see(who: Person) -> bool:
    """Whether somebody may see private notes: reading alone is not enough."""
    return who.may("log")


def private_notes(store: Path, unit: str, who: Person) -> str:
    """What the owner noted privately of a unit, blank where nothing is, or for somebody who may
    not see it. Raises NotKnown for no such unit.
    """
    if not may_see(who):
        return ""
    return _row(store, unit)[1]


def write_private_notes(store: Path, unit: str, text: str, who: Person, *, today: date) -> Entered:
    """Put `text` in place of the unit's private notes; blank: none. The notes before stay in the
    store's history, as of every correction.

    Raises BadInput where somebody may not, where the text is too long or nothing is changed;
    NotKnown for no such unit; Clash where the unit was corrected at the same moment.
    """
    if not may_see(who):
        raise BadInput("private notes are written by those who may log; nothing was changed")
    if len(text) > MOST:
        raise BadInput(f"private notes take {MOST:,} characters at most; these are {len(text):,}")
    record, old = _row(store, unit)
    if text.strip() == old:
        raise BadInput(f"the private notes on {unit} say that already; nothing was changed")
    return amend_record(
        store, record, {"private_notes": text.strip()}, today=today, by=who.name or None
    )


def _row(store: Path, unit: str) -> tuple[str, str]:
    from fleet.store import known_private

    rows = known_private(store, "units", unit=unit)
    if rows.is_empty():
        raise NotKnown(f"there is no unit {unit}; look at its name")
    last = rows.row(-1, named=True)
    return str(last["record"]), str(last["private_notes"] or "")
