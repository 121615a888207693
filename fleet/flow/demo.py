"""The demo store, built from the invented records that come with the package."""

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleet.errors import StoreProblem
from fleet.flow.importing import Imported, import_files
from fleet.flow.places import demo_folder

_INVENTED = "invented"
_AS_OF = "suggested_as_of"


def build_demo(store: Path) -> Imported:
    """A new store filled with the demo records, marked as invented; an earlier demo is replaced.

    Raises StoreProblem when a store that is not a demo is in the way.
    """
    from fleet.store import create, set_note

    folder = demo_folder()
    cut = date.fromisoformat(json.loads((folder / "truth.json").read_text())["data_cut"])
    if store.exists():
        if not is_invented(store):
            raise StoreProblem(
                f"{store} holds records that are not the demo's; give the demo another --store"
            )
        store.unlink()
    create(store)
    set_note(store, _INVENTED, "yes")
    set_note(store, _AS_OF, cut.isoformat())
    return import_files(store, [folder], today=cut, by=None)


def is_invented(store: Path) -> bool:
    """Whether the store holds the demo's invented records."""
    from fleet.store import get_note

    return get_note(store, _INVENTED) == "yes"


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedAt:
    """What a page wants to know first: the state of a store (a text that changes with every
    write), whether its records are invented, the day they are best read as of (None: today), and
    the last day on which anything was entered (None: never).
    """

    stamp: str
    invented: bool
    suggested_as_of: date | None
    last_entry: date | None


def look_at(store: Path) -> LookedAt:
    """All of it by opening the store once."""
    from fleet.store.remarks import stamp_and_notes

    stamp, notes, last = stamp_and_notes(store)
    return LookedAt(
        stamp=stamp,
        invented=notes.get(_INVENTED) == "yes",
        suggested_as_of=_best_read(notes.get(_AS_OF), last),
        last_entry=last,
    )


def suggested_as_of(store: Path) -> date | None:
    """The date the store's records are best read as of: the demo's cut, until somebody enters
    something later; None for other stores, which are read as of today.
    """
    return look_at(store).suggested_as_of


def _best_read(cut: str | None, last: date | None) -> date | None:
    """The day of the cut, unless that would hide what was entered since."""
    if cut is None:
        return None
    day = date.fromisoformat(cut)
    return day if last is None or last <= day else None
