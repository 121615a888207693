"""Files that are no store, places that cannot be written: one sentence each, nothing changed."""

import itertools
import random
import sqlite3
import tempfile
import time
from pathlib import Path

import duckdb
import pytest

from fleet import store
from fleet.errors import StoreProblem
from fleet.store import engine
from fleet.store.engine import connect


def _random_bytes(path):
    path.write_bytes(random.Random(1).randbytes(40_000))


def _text(path):
    path.write_text("unit,model\nTL-1,BM-2\n")


def _empty(path):
    path.touch()


def _other_engine(path):
    con = sqlite3.connect(path)
    con.execute("CREATE TABLE store (program TEXT)")
    con.commit()
    con.close()


def _other_database(path):
    with duckdb.connect(str(path)) as con:
        con.execute("CREATE TABLE store (program VARCHAR); INSERT INTO store VALUES ('ours')")


def _look_alike(path):
    with duckdb.connect(str(path)) as con:
        con.execute("CREATE TABLE store AS SELECT 'another' AS program")
        con.execute("CREATE TABLE schema_steps AS SELECT 1 AS step")


def _cut_short(path):
    store.create(path)
    path.write_bytes(path.read_bytes()[:20_000])


def _damaged(path):
    store.create(path)
    data = bytearray(path.read_bytes())
    data[12_300:60_000] = random.Random(2).randbytes(47_700)
    path.write_bytes(data)


CASES = {
    _random_bytes: "is not a store; give the path of one",
    _text: "is not a store; give the path of one",
    _empty: "is not a store; give the path of one",
    _other_engine: "is not a store; give the path of one",
    _other_database: "is a database, but not a store of this program",
    _look_alike: "is a database, but not a store of this program",
    _cut_short: "is damaged or cut short; restore your latest backup",
    _damaged: "is damaged or cut short; restore your latest backup",
}


@pytest.mark.parametrize("make", CASES, ids=lambda f: f.__name__)
def test_a_file_that_is_no_store(tmp_path, make):
    path = tmp_path / "thing.duckdb"
    make(path)
    before = path.read_bytes()
    with pytest.raises(StoreProblem, match=CASES[make]) as reading:
        store.known(path, ["units"])
    with pytest.raises(StoreProblem, match=CASES[make]):
        store.set_note(path, "key", "value")
    assert "\n" not in str(reading.value)
    assert path.read_bytes() == before


def test_nothing_and_a_folder(tmp_path):
    with pytest.raises(StoreProblem, match=r"there is no store at .*; give the path of one"):
        store.stamp(tmp_path / "none.duckdb")
    with pytest.raises(StoreProblem, match="is a folder, not a store"):
        store.stamp(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_store_can_reach_nothing_else(path, tmp_path):
    other = tmp_path / "secret.csv"
    other.write_text("a\n1\n")
    con = connect(path, read_only=False)
    for reach in (
        f"SELECT * FROM read_csv('{other}')",
        f"COPY units TO '{tmp_path / 'out.csv'}'",
        f"ATTACH '{tmp_path / 'more.duckdb'}'",
        "SET enable_external_access = true",
        "INSTALL httpfs",
        "SET autoinstall_known_extensions = true",
    ):
        with pytest.raises(duckdb.Error):
            con.execute(reach)
    con.close()
    assert sorted(p.name for p in tmp_path.iterdir()) == [path.name, other.name]


CONNECTIONS = """
import sys
from pathlib import Path
from fleet.store.engine import connect

first = connect(Path(sys.argv[1]), read_only=True)
second = connect(Path(sys.argv[1]), read_only=True)  # locked by the first
print(*first.execute("SELECT current_setting('enable_progress_bar')").fetchone())
print(*second.execute("SELECT current_setting('lock_configuration')").fetchone())
"""


def test_the_engine_draws_no_bar_among_results(path, start_python):
    """It does by itself where Python was started without a file, after two seconds."""
    out, err = start_python(CONNECTIONS, path).communicate(timeout=60)
    assert out.split() == ["False", "True"], err


@pytest.fixture
def common():
    """A folder that every user may enter, outside pytest's own, which is closed to others."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


def _set_note(path):
    store.set_note(path, "key", "value")


@pytest.mark.parametrize(("file_mode", "folder_mode"), [(0o444, 0o555), (0o666, 0o555)])
def test_a_store_that_may_only_be_read(common, request, file_mode, folder_mode):
    path = common / "club.duckdb"
    store.create(path)
    _set_note(path)
    path.chmod(file_mode)
    common.chmod(folder_mode)
    before = path.read_bytes()
    request.getfixturevalue("as_nobody")
    assert store.get_note(path, "key") == "value"
    with pytest.raises(StoreProblem, match="cannot be written: its file, folder or disk") as fault:
        _set_note(path)
    assert "\n" not in str(fault.value)
    assert path.read_bytes() == before


def test_a_store_that_may_not_even_be_read(common, request):
    path = common / "club.duckdb"
    store.create(path)
    path.chmod(0o000)
    request.getfixturevalue("as_nobody")
    with pytest.raises(StoreProblem, match="cannot be read: its file, folder or disk"):
        store.stamp(path)


def test_a_store_in_a_closed_folder(common, request):
    folder = common / "closed"
    folder.mkdir()
    store.create(folder / "club.duckdb")
    folder.chmod(0o000)
    request.getfixturevalue("as_nobody")
    with pytest.raises(StoreProblem, match="cannot be reached: the folder does not allow it"):
        store.stamp(folder / "club.duckdb")
    with pytest.raises(StoreProblem, match="cannot be reached: the folder does not allow it"):
        store.create(folder / "new.duckdb")


def test_a_new_store_where_nothing_may_be_written(common, request):
    common.chmod(0o555)
    request.getfixturevalue("as_nobody")
    with pytest.raises(StoreProblem, match="cannot be written"):
        store.create(common / "new.duckdb")
    assert list(common.iterdir()) == []


def test_who_holds_the_lock_is_named(path, put_units, start_python, monkeypatch):
    script = """
import sys
from pathlib import Path
from fleet.store.engine import connect
con = connect(Path(sys.argv[1]), read_only=False)
print("open", flush=True)
sys.stdin.readline()
"""
    monkeypatch.setattr(engine, "PATIENCE_SECONDS", 0.3)
    holder = start_python(script, path)
    assert holder.stdout.readline() == "open\n"
    with pytest.raises(StoreProblem, match=rf"in use by process {holder.pid} .*try again"):
        put_units({"record": "u-1"})
    with pytest.raises(StoreProblem, match=f"in use by process {holder.pid} "):
        store.stamp(path)
    holder.communicate("done\n", timeout=60)
    assert put_units({"record": "u-1"}).import_id == "i-0001"


def test_a_reader_in_the_same_program_is_waited_for(path, put_units, monkeypatch):
    monkeypatch.setattr(engine, "PATIENCE_SECONDS", 0.3)
    reader = connect(path, read_only=True)
    with pytest.raises(StoreProblem, match="in use by another part of this program"):
        put_units({"record": "u-1"})
    reader.close()
    assert put_units({"record": "u-1"}).import_id == "i-0001"


def _busy(path, seconds, holders):
    """An attempt that finds the file held, by each holder in turn, until the time is over."""
    began = time.monotonic()
    turns = itertools.cycle(holders)

    def attempt():
        if time.monotonic() - began < seconds:
            raise duckdb.IOException(
                f"Could not set lock on file: Conflicting lock is held in /x/y (PID {next(turns)})."
            )
        return "done"

    return attempt


def test_waiting_goes_on_while_others_take_turns(path, monkeypatch):
    monkeypatch.setattr(engine, "PATIENCE_SECONDS", 0.4)
    assert engine.patiently(path, _busy(path, 1.2, [1, 2]), verb="read") == "done"
    with pytest.raises(StoreProblem, match=r"in use by process 7 \(y\) and was not free in"):
        engine.patiently(path, _busy(path, 1.2, [7]), verb="read")
    monkeypatch.setattr(engine, "PATIENCE_IN_ALL_SECONDS", 0.4)
    with pytest.raises(StoreProblem, match="was not free in"):
        engine.patiently(path, _busy(path, 1.2, [1, 2]), verb="read")


def test_a_fault_of_ours_is_not_hidden(path):
    def wrong():
        with duckdb.connect() as con:
            con.execute("SELECT * FROM nowhere")

    with pytest.raises(duckdb.CatalogException):
        engine.patiently(path, wrong, verb="read")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "TransactionContext Error: Failed to commit: Could not write: No space left on device",
            "because the disk is full",
        ),
        ("IO Error: Could not write file: No space left on device", "because the disk is full"),
        ("IO Error: with version number 99, but we can only read", "newer version of the program"),
        ("IO Error: something quite else\nsecond line", "could not be read: IO Error: something"),
    ],
)
def test_other_faults_of_the_machine(path, text, sentence):
    def fail():
        raise duckdb.IOException(text)

    with pytest.raises(StoreProblem, match=sentence) as fault:
        engine.patiently(path, fail, verb="read")
    assert "\n" not in str(fault.value)
