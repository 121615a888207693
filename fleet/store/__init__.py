"""The store: one database file of append-only records. The only folder that uses the engine."""

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
from fleet.store.remarks import get_note, set_note
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
    "get_note",
    "history",
    "image",
    "imports",
    "known",
    "known_private",
    "look",
    "look_at_withdrawal",
    "rejects",
    "restore",
    "set_note",
    "stamp",
    "unit_history",
    "warnings_for",
    "withdraw",
]
