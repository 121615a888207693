"""The store: one database file of append-only records. The only folder that uses the engine."""

from fleet.store.acts import note_act, trail
from fleet.store.append import Appended, Judged, append, look
from fleet.store.images import image
from fleet.store.place import warnings_for
from fleet.store.reads import (
    find_record,
    history,
    imports,
    known,
    known_private,
    rejects,
    stamp,
    unit_history,
)
from fleet.store.recent import forget, known_again
from fleet.store.remarks import get_note, set_note, stamp_and_notes
from fleet.store.safety import backup, restore
from fleet.store.session import create
from fleet.store.withdraw import look_at_withdrawal, withdraw

__all__ = [
    "Appended",
    "Judged",
    "append",
    "backup",
    "create",
    "find_record",
    "forget",
    "get_note",
    "history",
    "image",
    "imports",
    "known",
    "known_again",
    "known_private",
    "look",
    "look_at_withdrawal",
    "note_act",
    "rejects",
    "restore",
    "set_note",
    "stamp",
    "stamp_and_notes",
    "trail",
    "unit_history",
    "warnings_for",
    "withdraw",
]
