import os
import signal

import polars as pl
import pytest

from fleet import store
from fleet.errors import StoreProblem
from fleet.frames import KINDS
from fleet.store import safety


def _names(folder):
    return sorted(p.name for p in folder.iterdir())


@pytest.fixture
def filled(path, put_units, today):
    put_units({"record": "a"}, {"record": "b", "supersedes": "a"}, {"record": "c"})
    put_units({"record": "d", "supersedes": "none"})
    store.withdraw(path, records=["c"], today=today, by=None)
    store.set_note(path, "invented", "yes")
    return path


def _same(one, other):
    for kind in KINDS:
        assert store.history(one, kind).equals(store.history(other, kind))
    assert store.imports(one).equals(store.imports(other))
    assert store.rejects(one).equals(store.rejects(other))
    assert store.get_note(other, "invented") == "yes"


def test_a_backup_holds_everything(filled, tmp_path):
    counts = store.backup(filled, tmp_path / "kept.duckdb")
    assert dict(counts.filter(pl.col("rows") > 0).rows()) == {"units": 3, "withdrawn": 1}
    assert set(counts["kind"]) == set(KINDS)
    _same(filled, tmp_path / "kept.duckdb")
    assert _names(tmp_path) == ["club.duckdb", "kept.duckdb"]


def test_a_restored_backup_is_a_store_that_goes_on(filled, tmp_path, put_units):
    store.backup(filled, tmp_path / "kept.duckdb")
    put_units({"record": "later"})
    counts = store.restore(tmp_path / "kept.duckdb", tmp_path / "again.duckdb")
    assert dict(counts.rows())["units"] == 3
    _same(tmp_path / "kept.duckdb", tmp_path / "again.duckdb")
    store.set_note(tmp_path / "again.duckdb", "k", "v")
    assert store.get_note(tmp_path / "kept.duckdb", "k") is None


def test_a_path_with_quotes_and_blanks(filled, tmp_path):
    target = tmp_path / "a 'quoted' \"name\"; x.duckdb"
    store.backup(filled, target)
    _same(filled, target)


def test_nothing_is_written_over(filled, tmp_path):
    taken = tmp_path / "taken.duckdb"
    taken.write_text("mine")
    with pytest.raises(StoreProblem, match=r"already a file at .*taken.duckdb; choose another"):
        store.backup(filled, taken)
    with pytest.raises(StoreProblem, match=r"already a file at .*; restore under another name"):
        store.restore(filled, taken)
    with pytest.raises(StoreProblem, match="already a file at"):
        store.create(taken)
    assert taken.read_text() == "mine"
    with pytest.raises(StoreProblem, match=r"there is no folder .*nowhere; make it first"):
        store.backup(filled, tmp_path / "nowhere" / "x.duckdb")
    with pytest.raises(StoreProblem, match=r"there is no folder .*nowhere; make it first"):
        store.create(tmp_path / "nowhere" / "x.duckdb")


def test_replacing_keeps_the_old_store_beside(filled, tmp_path, put_units, today):
    store.backup(filled, tmp_path / "kept.duckdb")
    put_units({"record": "later"})
    for tail in ("", "-2"):
        store.restore(tmp_path / "kept.duckdb", filled, replace=True, today=today)
        aside = tmp_path / f"club.before-restore-2026-11-25{tail}.duckdb"
        assert aside.exists()
    _same(tmp_path / "kept.duckdb", filled)
    old = store.known(tmp_path / "club.before-restore-2026-11-25.duckdb", ["units"])["units"]
    assert "later" in old["record"].to_list()


def test_a_damaged_store_can_be_replaced(filled, tmp_path, today):
    store.backup(filled, tmp_path / "kept.duckdb")
    filled.write_bytes(b"broken")
    store.restore(tmp_path / "kept.duckdb", filled, replace=True, today=today)
    _same(tmp_path / "kept.duckdb", filled)
    assert (tmp_path / "club.before-restore-2026-11-25.duckdb").read_bytes() == b"broken"


def test_only_a_store_is_restored(tmp_path, path):
    other = tmp_path / "other.duckdb"
    other.write_text("no store")
    before = path.read_bytes()
    with pytest.raises(StoreProblem, match=r"other.duckdb is not a store"):
        store.restore(other, path, replace=True)
    with pytest.raises(StoreProblem, match="there is no store at"):
        store.restore(tmp_path / "none.duckdb", tmp_path / "new.duckdb")
    assert path.read_bytes() == before
    assert _names(tmp_path) == ["club.duckdb", "other.duckdb"]


def test_a_copy_that_lost_rows_is_thrown_away(filled, tmp_path, monkeypatch):
    real = safety.copy_database

    def lossy(source, target):
        real(source, target)
        store.set_note(target, "invented", None)

    monkeypatch.setattr(safety, "copy_database", lossy)
    with pytest.raises(StoreProblem, match=r"does not hold what .* holds and was thrown away"):
        store.backup(filled, tmp_path / "kept.duckdb")
    assert _names(tmp_path) == ["club.duckdb"]


def test_a_backup_has_what_is_still_in_the_log(filled, tmp_path, start_python):
    """A process that was killed after a write leaves the log beside the file."""
    script = """
import duckdb, os, signal, sys
con = duckdb.connect(sys.argv[1])
con.execute("INSERT INTO notes VALUES ('last', 'words')")
os.kill(os.getpid(), signal.SIGKILL)
"""
    killed = start_python(script, filled)
    killed.communicate(timeout=60)
    assert killed.returncode == -signal.SIGKILL
    assert os.path.exists(f"{filled}.wal")  # noqa: PTH110
    store.backup(filled, tmp_path / "kept.duckdb")
    assert store.get_note(tmp_path / "kept.duckdb", "last") == "words"
