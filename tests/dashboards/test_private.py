"""An owner's private notes: shown to those who log, to nobody who only reads, on no other page."""

from datetime import date

import access
import every_page
import pytest

from fleet.flow.access import Person
from fleet.flow.private_notes import private_notes, write_private_notes

SECRET = "zinc-otter-4471"
OWNER = Person(name="odile@example.org", role="manage")
TODAY = date(2026, 6, 30)


@pytest.fixture
def noted(small_store):
    rows = [(f"U{n}", "M", "working" if n % 2 else "failed", "2019-01-01") for n in range(8)]
    store = small_store(rows)
    write_private_notes(store, "U1", SECRET, OWNER, today=TODAY)
    return store


@pytest.fixture
def as_role(monkeypatch):
    def signed(role):
        who = Person(name=f"{role}@example.org", role=role)
        monkeypatch.setattr(access, "person", lambda: who)

    return signed


def everything(page):
    """All that a page sends: every element with its values, and its files."""
    return str(page) + "".join(str(element) for element in page.main) + str(page.session_state)


@pytest.mark.parametrize("view", [name or "today" for name in every_page.VIEWS])
def test_a_reader_meets_them_on_no_page(noted, open_view, as_role, view):
    as_role("read")
    page = open_view(view, unit="U1", as_of="2026-06-30")
    assert SECRET not in everything(page)


@pytest.mark.parametrize("view", [name or "today" for name in every_page.VIEWS if name != "units"])
def test_others_meet_them_on_the_page_of_the_machine_alone(noted, open_view, as_role, view):
    as_role("manage")
    page = open_view(view, unit="U1", as_of="2026-06-30")
    assert not page.exception
    assert SECRET not in everything(page)


@pytest.mark.parametrize("role", ["log", "manage"])
def test_who_may_log_sees_and_changes_them(noted, open_view, as_role, role):
    as_role(role)
    page = open_view("units", unit="U1", as_of="2026-06-30")
    assert not page.exception
    (area,) = [a for a in page.text_area if a.value == SECRET]
    area.set_value("another word")
    next(b for b in page.button if b.label == "Save the private notes").click().run()
    assert private_notes(noted, "U1", OWNER) == "another word"
    assert any("Kept: record" in done.value for done in page.success)


def test_a_role_taken_away_while_typing_saves_nothing(noted, open_view, as_role):
    as_role("log")
    page = open_view("units", unit="U1", as_of="2026-06-30")
    next(a for a in page.text_area if a.value == SECRET).set_value("sneaked in")
    as_role("read")
    next(b for b in page.button if b.label == "Save the private notes").click().run()
    assert private_notes(noted, "U1", OWNER) == SECRET
    assert any("Nothing was changed" in error.value for error in page.error)
    assert SECRET not in "".join(str(element) for element in page.main)
