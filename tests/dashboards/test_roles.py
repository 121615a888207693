"""Every way of writing on every page refuses somebody who may only read, also from an old page.

A page that was open before the role was taken away still holds its buttons: each is pressed here.
"""

import ast
import re
from pathlib import Path

import access
import pytest

from fleet.flow.access import Person
from fleet.store import stamp

DASHBOARDS = Path(access.__file__).parent
# Functions of fleet/flow that write to a store.
WRITES = {
    "add_record",
    "amend_record",
    "import_files",
    "keep_photo",
    "log_reports",
    "take_back",
    "undo_import",
    "write_private_notes",
}


def _calls(node):
    for inner in ast.walk(node):
        if isinstance(inner, ast.Call):
            name = inner.func
            yield name.id if isinstance(name, ast.Name) else getattr(name, "attr", "")


def _functions():
    for file in sorted(DASHBOARDS.rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef):
                yield file.relative_to(DASHBOARDS).as_posix(), node


def _is_guarded(node):
    """Whether a function asks for the role before it writes: `access.need`, or `kept.keep`, which
    asks and then calls what it is given.
    """
    writes = [n.lineno for n in ast.walk(node) if isinstance(n, ast.Call) and _name(n) in WRITES]
    asks = [
        n.lineno
        for n in ast.walk(node)
        if isinstance(n, ast.Call)
        and re.fullmatch(r"(access\.)?need|kept\.keep", ast.unparse(n.func))
    ]
    handed_on = "kept.keep" in {
        ast.unparse(n.func) for n in ast.walk(node) if isinstance(n, ast.Call)
    }
    return bool(asks) and (handed_on or min(asks) < min(writes))


def _name(call):
    return call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")


WRITING = [
    pytest.param(node, id=f"{file}:{node.name}")
    for file, node in _functions()
    if set(_calls(node)) & WRITES
]


def test_there_are_such_functions():
    assert len(WRITING) >= 8


@pytest.mark.parametrize("node", WRITING)
def test_whatever_writes_asks_for_the_role_first(node):
    assert _is_guarded(node), f"{node.name} writes before it asks who is there"


READER = Person(name="joren@example.org", role="read")
OWNER = Person(name="odile@example.org", role="manage")


@pytest.fixture
def taken_away(monkeypatch):
    """The role is manage while a page is drawn; `taken_away()` leaves the right to read."""
    monkeypatch.setattr(access, "person", lambda: OWNER)
    return lambda: monkeypatch.setattr(access, "person", lambda: READER)


OLD_PAGES = {
    "log": ({"unit": "U1", "log_kind": "working"}, "Save the report on U1"),
    "units": ({"unit": "U1"}, "Save the private notes"),
}


@pytest.mark.parametrize("view", OLD_PAGES)
def test_a_button_of_an_old_page_writes_nothing(small_store, open_view, taken_away, view):
    store = small_store([("U1", "M", "working", "2019-01-01")])
    told, label = OLD_PAGES[view]
    page = open_view(view, **told)
    assert not page.exception
    if view == "units":
        next(a for a in page.text_area if a.label == "Notes").set_value("mine")
    before = stamp(store)
    taken_away()
    next(button for button in page.button if button.label == label).click().run()
    assert stamp(store) == before
    assert any("Nothing was changed" in error.value for error in page.error)
