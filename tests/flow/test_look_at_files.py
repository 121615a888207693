"""What an import or an undo would do is what it does, and looking writes nothing."""

from datetime import date

import pytest

from fleet.errors import Conflict, NotKnown
from fleet.flow.entering import add_record, amend_record, create_store
from fleet.flow.gathering import HowToRead
from fleet.flow.importing import (
    import_files,
    list_writes,
    look_at_files,
    look_at_undo,
    undo_import,
)
from fleet.records import ForeignTable
from fleet.store import known, stamp

TODAY = date(2026, 6, 30)
ROWS = "Machine,When,What,Shelf\nU1,2024-05-01,failed,A\nU2,2024-05-01,failed,A\nU1,5/24,failed,A\n"
HOW = HowToRead(
    tables={
        "list.csv": ForeignTable(
            kind="reports",
            columns={"Machine": "unit", "When": "date", "What": "kind", "Shelf": None},
        )
    },
    source="Club",
)


@pytest.fixture
def store(tmp_path):
    path = tmp_path / "fleet.duckdb"
    create_store(path)
    add_record(path, "units", {"unit": "U1", "model": "BM"}, today=TODAY, by=None)
    return path


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(ROWS)
    return path


def test_looking_says_what_importing_does_and_writes_nothing(store, file):
    before = stamp(store)
    looked = look_at_files(store, [file], today=TODAY, by="ann", how=HOW)
    assert stamp(store) == before
    assert looked.import_id is None
    assert looked.counts.select("rows", "kept", "rejected", "already_known").row(0) == (3, 1, 2, 0)
    done = import_files(store, [file], today=TODAY, by="ann", how=HOW)
    assert done.counts.equals(looked.counts)
    assert done.rejected.equals(looked.rejected)
    assert done.notes == looked.notes
    kept = known(store, ["reports"])["reports"]
    assert kept["record"].to_list() == looked.kept["reports"]["record"].to_list()
    assert kept.select("source", "by").row(0) == ("Club", "ann")


def test_what_is_known_already_is_seen_beforehand(store, file):
    import_files(store, [file], today=TODAY, by=None, how=HOW)
    looked = look_at_files(store, [file], today=TODAY, by=None, how=HOW)
    assert looked.counts.select("kept", "already_known").row(0) == (0, 1)
    assert looked.kept == {}


def test_a_table_left_out_is_not_read(store, file):
    looked = look_at_files(
        store, [file], today=TODAY, by=None, how=HowToRead(tables={"list.csv": None})
    )
    assert looked.counts.is_empty()


def test_an_undo_is_looked_at(store, file):
    done = import_files(store, [file], today=TODAY, by=None, how=HOW)
    before = stamp(store)
    assert look_at_undo(store, done.import_id, today=TODAY).rows() == [("reports", 1, 0)]
    assert stamp(store) == before
    assert undo_import(store, done.import_id, today=TODAY, by=None) == 1
    with pytest.raises(Conflict, match="taken back already"):
        look_at_undo(store, done.import_id, today=TODAY)


def test_an_undo_of_a_correction_says_that_the_corrected_counts_again(store, file):
    import_files(store, [file], today=TODAY, by=None, how=HOW)
    record = known(store, ["reports"])["reports"]["record"][0]
    amend_record(store, record, {"cause": "other"}, today=TODAY, by=None)
    last = list_writes(store)["import_id"][0]
    assert look_at_undo(store, last, today=TODAY).rows() == [("reports", 1, 1)]


def test_an_undo_that_cannot_be_says_so_beforehand(store, file):
    done = import_files(store, [file], today=TODAY, by=None, how=HOW)
    record = known(store, ["reports"])["reports"]["record"][0]
    amend_record(store, record, {"cause": "other"}, today=TODAY, by=None)
    with pytest.raises(Conflict, match="take that back first"):
        look_at_undo(store, done.import_id, today=TODAY)
    with pytest.raises(NotKnown, match="no import i-9999"):
        look_at_undo(store, "i-9999", today=TODAY)


def test_writes_are_sorted_out_newest_first(store, file):
    done = import_files(store, [file], today=TODAY, by=None, how=HOW)
    undo_import(store, done.import_id, today=TODAY, by=None)
    assert list_writes(store)["sort"].to_list() == ["taken back", "files", "entered"]
