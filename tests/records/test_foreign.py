"""Tables headed otherwise than ours."""

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.records import (
    ForeignTable,
    as_record_file,
    guess_kind,
    is_ours,
    read_grids,
    rename_columns,
    suggest_columns,
)


@pytest.fixture
def grid(tmp_path):
    def made(text, name="list.csv"):
        file = tmp_path / name
        file.write_text(text)
        return read_grids(file)[0]

    return made


def test_the_name_of_a_file_says_its_kind_first(grid):
    # By its columns alone this could be readings as well.
    assert guess_kind(grid("unit,date,position\n"), name="readings") == "readings"


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        ("Machine,When,What,Comments", "reports"),
        ("Machine,Model,Serial no,Built", "units"),
        ("unit,date,position,esr", "readings"),
        ("Lot,Series,Date code", "batches"),
        ("height,weight", None),
    ],
)
def test_a_kind_is_told_from_the_columns(grid, header, kind):
    assert guess_kind(grid(f"{header}\n"), name="list") == kind


def test_columns_are_suggested_by_name_then_by_other_names_then_by_letters():
    found = suggest_columns(["Date", "machine", "Symptoms", "kind", "Shelf"], "reports")
    assert found == {
        "Date": "date",
        "machine": "unit",
        "Symptoms": "symptom",
        "kind": "kind",
        "Shelf": None,
    }


def test_a_column_of_ours_is_suggested_once():
    found = suggest_columns(["notes", "comments", "remarks"], "reports")
    assert list(found.values()).count("notes") == 1
    assert found["notes"] == "notes"


def test_what_is_headed_as_ours_is_ours():
    assert is_ours(["Unit", "date", "kind"], "reports")
    assert not is_ours(["unit", "date"], "reports")
    assert not is_ours(["unit", "date", "kind", "shelf"], "reports")


def test_columns_are_renamed_and_the_rest_left_out_with_a_note(grid):
    read = grid("Machine,Shelf,When,What\nU1,A1,2024,failed\nU2,A2,2025\n")
    table = ForeignTable(kind="reports", columns={"Machine": "unit", "When": "date", "What": "kind",
                                                  "Shelf": None})  # fmt: skip
    raw = as_record_file(rename_columns(read, table), table.kind)
    assert raw.frame.rows(named=True) == [
        {"unit": "U1", "date": "2024", "kind": "failed", "line": 2}
    ]
    assert raw.rejected["line"].to_list() == [3]  # a cell is missing
    assert raw.notes == ("list.csv: left out the columns Shelf",)


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ({"Machine": "unit", "When": "date"}, "choose which column is the kind"),
        ({"Machine": "unit", "When": "date", "What": "date"}, "date is chosen for two columns"),
        ({"Machine": "unit", "Where": "date", "What": "kind"}, "has no column Where"),
        ({"Machine": "unit", "When": "date", "What": "colour"}, "colour is no column of reports"),
    ],
)
def test_a_choice_that_cannot_be_is_said(grid, columns, said):
    with pytest.raises(BadInput, match=said):
        rename_columns(
            grid("Machine,When,What\nU1,2024,failed\n"),
            ForeignTable(kind="reports", columns=columns),
        )


def test_every_sheet_of_a_book_is_read(tmp_path):
    import xlsxwriter

    file = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(file) as book:
        for name in ("Machines", "What happened"):
            pl.DataFrame({"a": ["1"]}).write_excel(book, worksheet=name)
    assert [grid.file for grid in read_grids(file)] == [
        "book.xlsx sheet Machines",
        "book.xlsx sheet What happened",
    ]


def test_another_type_of_file_is_refused(tmp_path):
    file = tmp_path / "fleet.duckdb"
    file.write_bytes(b"x")
    with pytest.raises(BadInput, match="no CSV, XLSX or Parquet"):
        read_grids(file)
