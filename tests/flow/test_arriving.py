"""Files from outside are bounded, looked at, and nothing more."""

import io
import zipfile

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow import arriving
from fleet.flow.arriving import (
    columns_of,
    how_to_read,
    kinds,
    look_at_tables,
    needed_columns,
    receive,
)

CSV = b"Machine,When,What\nU1,2024-05-01,failed\n"


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("list.csv", "list.csv"),
        ("../../etc/list.csv", "list.csv"),
        ("C:\\home\\list.CSV", "list.CSV"),
        ("a;rm -rf.csv", "a_rm -rf.csv"),
    ],
)
def test_a_file_lands_in_its_folder_under_a_plain_name(tmp_path, name, kept):
    path = receive(name, CSV, tmp_path)
    assert path == tmp_path / kept
    assert path.read_bytes() == CSV


@pytest.mark.parametrize("name", ["fleet.duckdb", "list.csv.exe", "list", ".csv", "", "x.pkl"])
def test_other_types_are_refused(tmp_path, name):
    with pytest.raises(BadInput, match="no CSV, XLSX or Parquet"):
        receive(name, CSV, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_store_that_calls_itself_a_table_is_no_text(tmp_path):
    path = receive("units.csv", b"\x00\x01DUCK\x00" * 100, tmp_path)
    with pytest.raises(BadInput, match="not a text table"):
        look_at_tables(path)


def test_what_is_too_large_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(arriving, "MOST_BYTES", 10)
    with pytest.raises(BadInput, match="larger than"):
        receive("list.csv", CSV, tmp_path)


def test_a_small_book_that_unpacks_to_too_much_is_refused_unread(tmp_path, monkeypatch):
    monkeypatch.setattr(arriving, "MOST_UNPACKED", 1_000_000)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("xl/worksheets/sheet1.xml", b"0" * 2_000_000)
    assert len(packed.getvalue()) < 10_000
    with pytest.raises(BadInput, match="when read"):
        receive("list.xlsx", packed.getvalue(), tmp_path)


def test_so_is_a_parquet_file(tmp_path, monkeypatch):
    monkeypatch.setattr(arriving, "MOST_UNPACKED", 100)
    packed = io.BytesIO()
    pl.DataFrame({"unit": [f"U{i}" for i in range(1_000)]}).write_parquet(packed)
    with pytest.raises(BadInput, match="when read"):
        receive("list.parquet", packed.getvalue(), tmp_path)


@pytest.mark.parametrize("name", ["list.xlsx", "list.parquet"])
def test_a_damaged_file_is_said(tmp_path, name):
    with pytest.raises(BadInput, match="damaged"):
        receive(name, b"PK\x03\x04 not really", tmp_path)


def test_two_files_of_one_name_are_said(tmp_path):
    receive("list.csv", CSV, tmp_path)
    with pytest.raises(BadInput, match="there twice"):
        receive("list.csv", CSV, tmp_path)


def test_a_table_is_looked_at(tmp_path):
    (table,) = look_at_tables(receive("list.csv", CSV, tmp_path))
    assert (table.file, table.table, table.rows, table.kind) == (
        "list.csv", "list.csv", 1, "reports",
    )  # fmt: skip
    assert not table.as_it_is
    assert table.columns == {"Machine": "unit", "When": "date", "What": "kind"}
    assert table.sample.rows() == [("U1", "2024-05-01", "failed")]


def test_a_column_there_twice_has_no_sample(tmp_path):
    (table,) = look_at_tables(receive("units.csv", b"unit,model,a,a\nU1,M,1,2\n", tmp_path))
    assert table.header == ("unit", "model", "a")
    assert table.sample.columns == ["unit", "model"]


def test_needed_columns_come_first_and_taking_back_is_no_kind():
    assert columns_of("reports")[:3] == needed_columns("reports") == ["unit", "date", "kind"]
    assert "withdrawn" not in kinds()


def test_columns_named_by_hand(tmp_path):
    file = receive("theirs.csv", CSV, tmp_path)
    named = {"Machine": "unit", "When": "date", "What": "kind"}
    how = how_to_read([file], kind="reports", columns=named, source="Club")
    assert dict(how.tables["theirs.csv"].columns) == named
    with pytest.raises(BadInput, match="What is no column of reports"):
        how_to_read([file], kind="reports", columns={"Machine": "unit", "When": "date"},
                    source=None)  # fmt: skip
    with pytest.raises(BadInput, match="no file has a column Shelf"):
        how_to_read([file], kind="reports", columns={**named, "Shelf": None}, source=None)
