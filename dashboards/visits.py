"""On which day a person last opened the page Today; kept in a file beside the store.

Days only, under a digest of the name. It is no record of the fleet: lost or unreadable, the page
falls back on a month.
"""

import hashlib
import json
import os
import tempfile
from datetime import date
from pathlib import Path


def last_visit(store: Path, person: str, *, today: date) -> date | None:
    """The latest day before `today` on which `person` was here, and note that they are here now."""
    file = store.with_name(f"{store.name}.visits.json")
    key = hashlib.sha256(person.encode()).hexdigest()[:16]
    visits = _read(file)
    latest, before = visits.get(key, (None, None))
    if latest != today:
        before = latest if latest is None or latest < today else before
        _write(file, {**visits, key: (today, before)})
    return before


_Visits = dict[str, tuple[date | None, date | None]]


def _read(file: Path) -> _Visits:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        return {str(key): (_day(pair[0]), _day(pair[1])) for key, pair in told.items()}
    except (OSError, ValueError, TypeError, AttributeError, KeyError, IndexError):
        return {}


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _write(file: Path, visits: _Visits) -> None:
    """Whole or not at all; a folder that cannot be written to is no fault of the reader."""
    told = {
        key: [None if day is None else day.isoformat() for day in pair]
        for key, pair in visits.items()
    }
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    except OSError:
        return
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(told, out)
        Path(beside).replace(file)
    except OSError:
        Path(beside).unlink(missing_ok=True)
