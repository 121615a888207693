"""Fixtures of the page tests: stores, a server on a free port, a real browser."""

import shutil
import sys
from datetime import date
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
APP = REPOSITORY / "dashboards" / "app.py"
# As Streamlit does for the pages; for tests of what needs no page. And what tests here share.
sys.path[:0] = [str(APP.parent), str(Path(__file__).parent)]

import serving  # noqa: E402 - found by the line above
import watching  # noqa: E402

_CHROMIUM = "/usr/bin/chromium"
BROWSER_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path():
    """Where Chromium is, or None."""
    return _CHROMIUM if Path(_CHROMIUM).exists() else shutil.which("chromium")


@pytest.fixture(scope="session")
def built_demo(tmp_path_factory):
    """A demo store to copy; never written to."""
    from fleet.flow.demo import build_demo

    store = tmp_path_factory.mktemp("demo") / "demo.duckdb"
    build_demo(store)
    return store


@pytest.fixture
def demo_store(built_demo, tmp_path, monkeypatch):
    """A demo store of one's own, which the pages find."""
    store = tmp_path / "demo.duckdb"
    shutil.copy(built_demo, store)
    monkeypatch.setenv("FLEET_STORE", str(store))
    return store


@pytest.fixture
def empty_store(tmp_path, monkeypatch):
    """A store without records, which the pages find."""
    from fleet.flow.entering import create_store

    store = tmp_path / "empty.duckdb"
    create_store(store)
    monkeypatch.setenv("FLEET_STORE", str(store))
    return store


@pytest.fixture
def small_store(tmp_path, monkeypatch):
    """A function that makes a store of machines (unit, model, last report, its date), all from new.

    Made in May 2000 and known since; a failure is the capacitors'. The pages find the store.
    """
    from fleet.flow.entering import create_store
    from fleet.flow.importing import import_files

    def made(rows):
        units = [f"{u},{m},2000-05-01,2000-05-01,working,Club" for u, m, *_ in rows]
        reports = [f"{u},{k},{d},{'capacitor' * (k == 'failed')}" for u, _, k, d in rows]
        tables = {
            "sources": ["source,collecting_since", "Club,1990-01-01"],
            "models": ["model", *sorted({m for _, m, *_ in rows})],
            "units": ["unit,model,manufactured,enrolled_on,enrolled_because,source", *units],
            "reports": ["unit,kind,date,cause", *reports],
        }
        files = []
        for kind, lines in tables.items():
            files.append(tmp_path / f"{kind}.csv")
            files[-1].write_text("\n".join(lines) + "\n")
        store = tmp_path / "small.duckdb"
        create_store(store)
        done = import_files(store, files, today=date(2020, 1, 1), by=None)
        assert done.rejected.is_empty()
        monkeypatch.setenv("FLEET_STORE", str(store))
        return store

    return made


@pytest.fixture
def working_unit(demo_store):
    """A machine of the demo last seen working with its original parts, and its model."""
    from fleet.flow.answers import lives
    from fleet.flow.demo import suggested_as_of

    table = lives(demo_store, as_of=suggested_as_of(demo_store))
    rows = table.lives.filter(end="working", parts="original").sort("unit")
    return rows.select("unit", "model").row(0)


@pytest.fixture(scope="session")
def open_view():
    """A function that opens a page through the router, with an address if need be."""
    from streamlit.testing.v1 import AppTest

    def opened(view="due", **address):
        page = AppTest.from_file(str(APP), default_timeout=300)
        for name, value in address.items():
            page.query_params[name] = value
        if view != "today":
            page.switch_page(f"views/{view}.py")
        return page.run()

    return opened


@pytest.fixture
def server(demo_store):
    """Address of a dashboard served from a demo of one's own, which may be written to."""
    with serving.served("--store", demo_store) as address:
        yield address


@pytest.fixture(scope="session")
def read_server(built_demo, tmp_path_factory):
    """Address of a dashboard of the demo that all tests share: they only read it."""
    store = tmp_path_factory.mktemp("read") / "demo.duckdb"
    shutil.copy(built_demo, store)
    before = store.read_bytes()
    with serving.served("--store", store) as address:
        yield address
    assert store.read_bytes() == before, "a test wrote to the store that all tests read"


@pytest.fixture(scope="session")
def visit(browser, read_server):
    """A function that opens a page in a look, once for all tests that only look at it."""
    seen = {}
    contexts = {look: watching.new_context(browser, look) for look in watching.LOOKS}

    def visited(path, look):
        if (path, look) not in seen:
            watched = watching.Watched(contexts[look].new_page(), read_server)
            try:
                seen[path, look] = watching.visit(watched, path, look)
            finally:
                watched.page.close()
        return seen[path, look]

    yield visited
    for context in contexts.values():
        context.close()


@pytest.fixture(scope="session")
def wait_for_server():
    """A function that waits until a server process answers at an address."""
    return serving.wait_until_up


@pytest.fixture(scope="session")
def browser():
    """Real Chromium; skipped where there is none."""
    path = chromium_path()
    if path is None:
        pytest.skip("no Chromium: neither /usr/bin/chromium nor chromium on PATH")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=BROWSER_ARGUMENTS)
        yield chromium
        chromium.close()
