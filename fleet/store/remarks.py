"""Small notes in the store: a key and a text each, such as that its records are invented."""

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


def stamp_and_notes(path: Path) -> tuple[str, dict[str, str]]:
    """What `stamp` gives, and all notes, by opening the store once."""

    def work(con: "duckdb.DuckDBPyConnection") -> tuple[str, dict[str, str]]:
        row = fetch(con, statement("stamp"))
        notes = fetch(con, statement("notes"))
        return f"{row['writes'][0]}-{row['token'][0]}", dict(notes.iter_rows())

    return reading(path, work)


def set_note(path: Path, key: str, value: str | None) -> None:
    """Put `value` under `key`, in place of what was there; None removes it."""

    def work(con: "duckdb.DuckDBPyConnection") -> None:
        run(con, "count_write")
        run(con, "drop_note", key=key)
        if value is not None:
            run(con, "add_note", key=key, value=value)

    writing(path, work)
