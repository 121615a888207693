"""Files nobody should send: said in a sentence, never run, never opened as a database."""

import io
import zipfile

import pytest
import xlsxwriter

from fleet.flow.importing import list_imports

PROGRAM = b"MZ\x90\x00\x03\x00\x00\x00" + bytes(range(256)) * 8


@pytest.fixture
def page(demo_store, open_view):
    return open_view("bring_in")


def give(page, name, data):
    page.file_uploader[0].set_value([(name, data, "application/octet-stream")]).run()
    assert not page.exception
    return page


def workbook(*cells):
    """An XLSX whose cells are written as formulas, with the values a spreadsheet kept for them."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet("reports")
        for row, line in enumerate(cells):
            for column, cell in enumerate(line):
                if isinstance(cell, tuple):
                    sheet.write_formula(row, column, cell[0], None, cell[1])
                else:
                    sheet.write_string(row, column, cell)
    return file.getvalue()


def bomb():
    """A small XLSX that would unpack to more than any file of records."""
    small = io.BytesIO(workbook(["unit", "date", "kind"]))
    big = io.BytesIO()
    with zipfile.ZipFile(small) as old, zipfile.ZipFile(big, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.namelist():
            data = old.read(entry)
            new.writestr(entry, data)
        with new.open("xl/sharedStrings2.xml", "w", force_zip64=True) as out:
            for _ in range(1_000):
                out.write(b" " * 2**20)
    return big.getvalue()


@pytest.mark.parametrize("name", ["rows.csv", "rows.xlsx", "rows.parquet"])
def test_a_store_under_another_name_is_not_opened(page, demo_store, name):
    give(page, name, demo_store.read_bytes())
    assert name in page.error[0].value
    assert list_imports(demo_store).height == 1


@pytest.mark.parametrize("name", ["rows.csv", "rows.xlsx", "rows.parquet"])
def test_a_program_under_another_name_is_not_run(page, demo_store, name):
    give(page, name, PROGRAM)
    assert name in page.error[0].value
    assert list_imports(demo_store).height == 1


def test_a_small_book_that_unpacks_to_a_gigabyte_is_not_unpacked(page):
    data = bomb()
    assert len(data) < 2_000_000
    give(page, "rows.xlsx", data)
    assert "rows.xlsx" in page.error[0].value
    assert "MB" in page.error[0].value


def test_a_formula_is_read_as_the_value_kept_for_it_and_never_reckoned(page):
    give(page, "rows.xlsx", workbook(
        ["unit", "date", "kind", "notes"],
        ["U-007", "2026-07-04", "working", ('=HYPERLINK("http://127.0.0.1/","a")', "kept value")],
    ))  # fmt: skip
    assert not page.error
    shown = " ".join(str(frame.value.to_dict()) for frame in page.dataframe)
    assert "kept value" in shown
    assert "HYPERLINK" not in shown


def test_types_and_size_are_limited_where_files_are_chosen(page):
    place = page.file_uploader[0]
    assert ".duckdb" not in place.proto.type
    assert ".csv" in place.proto.type
    assert place.proto.max_upload_size_mb == 50
