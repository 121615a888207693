"""A new store, rows for it with made-up ids, and other processes that use it."""

import hashlib
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from fleet import store
from fleet.frames import REJECTED, clean_schema, empty_frame

TODAY = date(2026, 11, 25)
ROOT = Path(__file__).parents[2]


def _rows(kind, *dicts):
    """Clean rows; `content` is a hash of everything but what the contract leaves out of it."""
    schema = clean_schema(kind)
    outside = {"file", "line", "record", "entered_on", "reconstructed", "by"}
    made = []
    for number, given in enumerate(dicts, start=2):
        body = sorted((k, str(v)) for k, v in given.items() if k not in outside)
        content = hashlib.sha256(repr(body).encode()).hexdigest()
        defaults = {
            "file": f"{kind}.csv",
            "line": number,
            "record": f"{kind[0]}-{content[:16]}",
            "entered_on": date(2026, 1, 1),
            "reconstructed": False,
            "content": content,
        }
        made.append({**defaults, **given})
    return pl.DataFrame([{c: row.get(c) for c in schema} for row in made], schema=schema)


@pytest.fixture
def rows():
    return _rows


@pytest.fixture
def today():
    return TODAY


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "club.duckdb"
    store.create(made)
    return made


@pytest.fixture
def put(path):
    """Append frames by kind to the store."""

    def append(rejected=None, **tables):
        rejected = empty_frame(REJECTED) if rejected is None else rejected
        return store.append(path, tables, rejected, what="a test", today=TODAY, by="tester")

    return append


@pytest.fixture
def put_units(put):
    """Append units with the given ids, each named as its id unless said otherwise."""

    def append(*dicts):
        full = [{"unit": d["record"], "model": "BM-2", **d} for d in dicts]
        return put(units=_rows("units", *full))

    return append


@pytest.fixture
def current(path):
    """Ids of the rows of a kind that stand, sorted."""

    def ids(kind="units", as_of=None):
        return sorted(store.known(path, [kind], as_of=as_of)[kind]["record"])

    return ids


@pytest.fixture
def start_python():
    """Start Python with a script and arguments in a process of its own."""
    running = []

    def start(script, *args):
        process = subprocess.Popen(
            [sys.executable, "-c", script, *map(str, args)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        return process

    yield start
    for process in running:
        if process.poll() is None:
            process.kill()
        process.communicate()


@pytest.fixture
def as_nobody():
    """Run as a user without rights: as root, no permission is ever refused."""
    if os.name != "posix":
        pytest.skip("file permissions are tested on POSIX systems only")
    was_root = os.geteuid() == 0
    if was_root:
        os.seteuid(65534)
    yield
    if was_root:
        os.seteuid(0)
