"""Fixtures of the page tests: stores, a server on a free port, a real browser."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from datetime import date
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
APP = REPOSITORY / "dashboards" / "app.py"
# As Streamlit does for the pages; for tests of what needs no page.
sys.path.insert(0, str(APP.parent))
_CHROMIUM = "/usr/bin/chromium"
_BROWSER_ARGUMENTS = [
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
        page = AppTest.from_file(str(APP), default_timeout=120)
        for name, value in address.items():
            page.query_params[name] = value
        if view != "today":
            page.switch_page(f"views/{view}.py")
        return page.run()

    return opened


@pytest.fixture
def server(demo_store):
    """Address of a dashboard served from a copy of the demo, as `fleet dashboard` starts it."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "fleet", "dashboard", "--port", str(port), "--no-browser"]
    process = subprocess.Popen(
        [*command, "--store", str(demo_store)],
        cwd=REPOSITORY,
        # The server's own process must find the package in a checkout that is not installed.
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        wait_until_up(address, process)
        yield address
    finally:
        # The command starts the server as a process of its own: end the group it leads.
        os.killpg(process.pid, 15)
        process.wait(timeout=20)


def wait_until_up(address, process, seconds=60):
    for _ in range(seconds * 5):
        if process.poll() is not None:
            pytest.fail(f"the dashboard ended at once with code {process.returncode}")
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2) as answer:
                if answer.status == 200:
                    return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    pytest.fail(f"the dashboard did not answer within {seconds} s")


@pytest.fixture(scope="session")
def wait_for_server():
    """A function that waits until a server process answers at an address."""
    return wait_until_up


@pytest.fixture(scope="session")
def browser():
    """Real Chromium; skipped where there is none."""
    path = chromium_path()
    if path is None:
        pytest.skip("no Chromium: neither /usr/bin/chromium nor chromium on PATH")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=_BROWSER_ARGUMENTS)
        yield chromium
        chromium.close()
