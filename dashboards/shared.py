"""What every page shares: the store, the as-of date, the head of the page, errors as sentences."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import access
import address
import page_names
import ready
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.demo import look_at
from fleet.flow.known import keep_answers

NAME = "Recap Almanac"
_FEW_NOTES = 3
_OPENED: set[Path] = set()  # stores that this server has shown


keep_answers()  # a server stays open


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a page reads: a store, the state it is in (`stamp`), and as of which day."""

    store: Path
    stamp: str
    as_of: date
    today: date
    arrived: bool  # first run since another page was shown

    @property
    def key(self) -> tuple[str, str]:
        """What a cached read of this store depends on besides its own settings."""
        return (str(self.store.resolve()), self.stamp)


def store_path() -> Path:
    """The store the pages read: FLEET_STORE, else fleet.duckdb in the folder it was started in."""
    return Path(os.environ.get("FLEET_STORE") or "fleet.duckdb")


def today() -> date:
    """The day on this machine's clock; the pages are the only ones here to read it."""
    return date.today()  # noqa: DTZ011 - reports are dated in the local calendar


@contextmanager
def sentences() -> Iterator[None]:
    """Show a FleetError inside as its sentence, and end the page there; likewise where an answer
    is not there yet.
    """
    try:
        yield
    except ready.NotYet as late:
        ready.waiting(late)
        st.stop()
    except FleetError as error:
        said = page_names.instead_of_commands(_place_hidden(str(error)))
        st.error(words.escaped(said), icon=":material/error:")
        st.stop()


@contextmanager
def section() -> Iterator[None]:
    """A part of a page that may come later than the rest: the page goes on without it."""
    try:
        yield
    except ready.NotYet as late:
        ready.waiting(late)


def open_page(title: str, lead: str, *, dated: bool = True) -> Place:
    """Draw the head of a page and find the store; ends the page with what to do if there is none.

    The as-of date is in the address (`as_of`), and shared by all pages; one that only takes in
    what is known today (not `dated`) does not ask for it.
    """
    head, when = st.columns([3, 1], vertical_alignment="bottom") if dated else (st.container(),) * 2
    head.caption(NAME)
    head.title(title, anchor=False)
    st.markdown(lead)
    arrived = st.session_state.get("page_shown") != title
    address.say_refused_here(arrived=arrived)
    store = store_path()
    if not store.exists():
        _say_no_store(store)
        st.stop()
    with sentences():
        found = look_at(store)
        stamp = found.stamp
        _OPENED.add(store.resolve())
        changed = ready.note_state((str(store.resolve()), stamp))
        if found.invented:
            st.caption(":material/science: **Invented data**, made up to show how the pages work.")
        with when:
            as_of = _as_of(found.suggested_as_of) if dated else today()
        _say_hidden(as_of, found.last_entry)
    st.session_state["page_shown"] = title
    place = Place(store=store, stamp=stamp, as_of=as_of, today=today(), arrived=arrived)
    ready.nothing_waits()
    if changed:
        from warming import warm  # it knows every page's answers, and they know this file

        warm(place.key, as_of, today=place.today)
    return place


def _say_no_store(store: Path) -> None:
    if store.resolve() in _OPENED:
        name = words.escaped(_place_hidden(str(store)))
        st.error(
            f"The store that was open here is gone: {name}. Put it back, or restore a backup.",
            icon=":material/error:",
        )
    else:
        st.info(_WHAT_FIRST.format(store=_place_hidden(str(store))), icon=":material/start:")


def _place_hidden(text: str) -> str:
    """A group is told the name of the store's file, and not where on its keeper's machine it is."""
    if access.group_file() is None:
        return text
    store = store_path()
    for place in (str(store.resolve()), str(store)):
        text = text.replace(place, store.name)
    return text


def caution() -> None:
    """What to know before a machine is opened, in a look that nothing else has; once a page, before
    the ways to a machine on the bench.
    """
    with st.container(key="caution"):
        st.warning(words.CAUTION, icon=":material/electrical_services:")


def say_nothing_yet() -> None:
    """What to do in a store without units."""
    st.info(_EMPTY, icon=":material/start:")


def show_notes(notes: tuple[str, ...], *, what: str = "these numbers") -> None:
    """The sentences that go with an answer, each once; folded away when they are many."""
    named = (page_names.instead_of_commands(note) for note in notes)
    once = list(dict.fromkeys(words.escaped(note) for note in named))
    if len(once) <= _FEW_NOTES:
        for note in once:
            st.caption(f":material/info: {note}")
        return
    with st.expander(f"What went into {what} ({len(once)} notes)", icon=":material/info:"):
        st.markdown("\n".join(f"- {note}" for note in once))


def move_to_today() -> None:
    """Show what is known today: pages that show an earlier day hide what was just entered."""
    address.put("as_of", today())


def _say_hidden(as_of: date, last_entry: date | None) -> None:
    """Say where something was entered after the day that the page shows, with the way to see it."""
    if last_entry is None or last_entry <= as_of:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.markdown(
            f":material/visibility_off: What was entered after {as_of} is not counted here; the "
            f"last of it on {last_entry}."
        )
        st.button("Show what is known today", on_click=move_to_today, key="show_today")


def _as_of(suggested: date | None) -> date:
    now = today()
    chosen = st.date_input(
        "As known on",
        max_value=now,
        min_value=_FIRST_DAY,
        format="YYYY-MM-DD",
        help="Only what had happened and was entered by this day counts.",
        **address.day("as_of", _FIRST_DAY, now, min(suggested or now, now)),
    )
    return chosen if isinstance(chosen, date) else now


_FIRST_DAY = date(1950, 1, 1)

_WHAT_FIRST = """There is no store at `{store}` yet. Make one, then open this page again:

- `fleet demo` builds one with invented records, to look around;
- `fleet new`, then `fleet import FOLDER` brings in your own."""

_EMPTY = """The store has no machines yet. Bring some in, then come back:

- the page Bring in data takes record files (models, units, reports) or open repair data;
- on the command line `fleet add model`, then `fleet add unit`, enters one by hand;
- `fleet demo` builds a separate store with invented records, to look around."""
