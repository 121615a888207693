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
    write), whether its records are invented, and the day they are best read as of.
    """

    stamp: str
    invented: bool
    suggested_as_of: date | None


def look_at(store: Path) -> LookedAt:
    """All of it by opening the store once."""
    from fleet.store.remarks import stamp_and_notes

    stamp, notes = stamp_and_notes(store)
    text = notes.get(_AS_OF)
    return LookedAt(
        stamp=stamp,
        invented=notes.get(_INVENTED) == "yes",
        suggested_as_of=date.fromisoformat(text) if text else None,
    )


def suggested_as_of(store: Path) -> date | None:
    """The date the store's records are best read as of: the demo's cut; None for other stores."""
    from fleet.store import get_note

    text = get_note(store, _AS_OF)
    return date.fromisoformat(text) if text else None
