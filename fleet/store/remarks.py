"""Small notes in the store: a key and a text each, such as that its records are invented."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.store.session import reading, writing
from fleet.store.statements import fetch, run, statement

if TYPE_CHECKING:
    import duckdb


def get_note(path: Path, key: str) -> str | None:
    """The text under `key`; None where there is none."""
    found = reading(path, lambda con: fetch(con, statement("get_note"), {"key": key}))
    return str(found["value"][0]) if found.height else None


def stamp_and_notes(path: Path) -> tuple[str, dict[str, str], date | None]:
    """What `stamp` gives, all notes, and the last day on which anything was entered or taken back
    (None: never), by opening the store once.
    """

    def work(con: "duckdb.DuckDBPyConnection") -> tuple[str, dict[str, str], date | None]:
        row = fetch(con, statement("stamp"))
        notes = fetch(con, statement("notes"))
        last = fetch(con, statement("last_day"))["day"][0]
        return f"{row['writes'][0]}-{row['token'][0]}", dict(notes.iter_rows()), last

    return reading(path, work)


def set_note(path: Path, key: str, value: str | None) -> None:
    """Put `value` under `key`, in place of what was there; None removes it."""

    def work(con: "duckdb.DuckDBPyConnection") -> None:
        run(con, "count_write")
        run(con, "drop_note", key=key)
        if value is not None:
            run(con, "add_note", key=key, value=value)

    writing(path, work)
