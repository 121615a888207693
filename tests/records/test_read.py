"""Reading of record files: encodings, separators, line numbers, headers, and what is refused."""

import codecs

import polars as pl
import pytest
import xlsxwriter

from fleet.errors import BadInput
from fleet.records import read_tables

HEAD = "unit,model,notes\n"


def write(path, text, encoding="utf-8"):
    path.write_bytes(text.encode(encoding) if isinstance(text, str) else text)
    return path


def one(path, **options):
    (table,) = read_tables(path, **options)
    return table


def rows(table):
    return table.frame.rows()


@pytest.fixture
def units(tmp_path):
    return tmp_path / "units.csv"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(units, encoding, separator, line_end):
    text = (HEAD + "A1,M,Grüße\nA2,M,\n").replace(",", separator).replace("\n", line_end)
    table = one(write(units, text, encoding))
    assert rows(table) == [("A1", "M", "Grüße", 2), ("A2", "M", "", 3)]
    assert table.notes == ()


def test_windows_1252_is_read_with_a_note(units):
    table = one(write(units, HEAD + "A1,M,Grüße\n", "cp1252"))
    assert table.frame["notes"][0] == "Grüße"
    assert "Windows-1252" in table.notes[0]


def test_utf_16_without_its_first_byte_pair_is_no_text(units):
    with pytest.raises(BadInput, match="not a text table"):
        one(write(units, HEAD.encode("utf-16-le")))


def test_quoted_line_breaks_keep_line_numbers_right(units):
    text = HEAD + 'A1,M,"one\ntwo\n\nthree"\n\n  \n,,\nA2,M,"a ""b"", c"\r\nA3,M,\n'
    assert rows(one(write(units, text))) == [
        ("A1", "M", "one\ntwo\n\nthree", 2),
        ("A2", "M", 'a "b", c', 9),
        ("A3", "M", "", 10),
    ]


def test_blank_lines_are_no_rows_and_keep_line_numbers_right(units):
    table = one(write(units, "\n" + HEAD + "\n , ,\nA1,M,\n\n"))
    assert rows(table) == [("A1", "M", "", 5)]
    assert table.rows == 1


@pytest.mark.parametrize("quoted", ["", '"x"'])
def test_rows_of_another_width_are_refused_and_not_shifted(units, quoted):
    table = one(write(units, HEAD + f"A1,M\nA2,M,{quoted}\nA3,M,a,b\n"))
    assert table.frame["unit"].to_list() == ["A2"]
    assert table.rows == 3
    assert table.rejected.select("line", "row").rows() == [
        (2, '["A1", "M"]'),
        (4, '["A3", "M", "a", "b"]'),
    ]
    assert "2 cells and the header 3" in table.rejected["reason"][0]


def test_quoted_and_unquoted_files_read_alike(units):
    body = "".join(f"U{i},M,n{i}\n" for i in range(50_000))
    plain = one(write(units, HEAD + body)).frame
    assert one(write(units, HEAD.replace("notes", '"notes"') + body)).frame.equals(plain)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf \n \n", "is empty"),
        (codecs.BOM_UTF16_LE, "is empty"),
        (b"unit,model\x00\x01\x02\nA,B\n", "not a text table"),
        (b"PK\x03\x04\x00\x00", "not a text table"),
        (b"\x81\x8d\x8f\x90\xff", "not a text table"),
        (HEAD + 'A1,M,"never closed\nA2,M,x\n', "line 2: a quotation mark is opened here"),
        (HEAD + 'A1,M,x\nA2,M,"mid"dle\n', "line 3: a quotation mark stands in the middle"),
        (HEAD + 'A1,M,"' + "x" * 200_000 + '"\n', "line 2: a cell that begins here is longer"),
        ("unit,notes\nA1,x\n", "the column model is missing"),
        ("unit,model,hours_pr_year\n", r"did you mean hours_per_year\?"),
        ("unit,model,Unit\n", "the column unit is there twice"),
        ("unit,model,\nA1,M,x\n", "column 3 holds cells but has no name"),
        ("nonsense\n1\n", "the column unit, model is missing"),
    ],
)
def test_files_that_cannot_be_read_say_why_in_one_sentence(units, content, message):
    with pytest.raises(BadInput, match=message) as error:
        one(write(units, content))
    assert str(error.value).startswith("units.csv")
    assert "\n" not in str(error.value)


def test_header_only_is_no_rows(units):
    assert one(write(units, HEAD)).rows == 0


def test_columns_without_name_and_cells_are_dropped(units):
    assert one(write(units, "unit,model,,\nA1,M,,\n")).frame.columns == ["unit", "model", "line"]


def test_header_is_matched_whatever_its_case_and_blanks_with_a_note(units):
    table = one(write(units, " Unit ,MODEL,Hours per year\nA1,M,10\n"))
    assert table.frame.columns == ["unit", "model", "hours_per_year", "line"]
    assert "'Hours per year' as hours_per_year" in table.notes[0]


def test_kind_from_name_or_option(tmp_path):
    file = write(tmp_path / "Units.CSV", HEAD)
    assert one(file).kind == "units"
    other = write(tmp_path / "garden.csv", HEAD)
    assert one(other, kind="units").kind == "units"
    with pytest.raises(BadInput, match="its name is no kind of record"):
        one(other)
    with pytest.raises(BadInput, match=r"did you mean units\?"):
        one(other, kind="unit")
    with pytest.raises(BadInput, match="no CSV, XLSX or Parquet"):
        one(write(tmp_path / "units.doc", "x"))
    with pytest.raises(BadInput, match="does not exist"):
        one(tmp_path / "absent.csv")


def test_folder_in_the_order_of_the_kinds_with_the_others_named(tmp_path):
    write(tmp_path / "reports.csv", "unit,date,kind\n")
    write(tmp_path / "units.csv", HEAD)
    write(tmp_path / "garden.csv", "a\n")
    write(tmp_path / "README.md", "text")
    tables = read_tables(tmp_path)
    assert [t.kind for t in tables] == ["units", "reports"]
    assert tables[0].notes == ("not read, their names are no kinds of record: garden.csv",)


def test_folder_without_record_files(tmp_path):
    write(tmp_path / "garden.csv", "a\n")
    with pytest.raises(BadInput, match="holds no record files"):
        read_tables(tmp_path)


@pytest.fixture
def book(tmp_path):
    from datetime import datetime

    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        day = made.add_format({"num_format": "d.m.yyyy"})
        sheet = made.add_worksheet("Units")
        sheet.write_row(0, 0, ["unit", "model", "manufactured", "enrolled_on", "hours_per_year"])
        sheet.write_row(2, 0, ["007", "M", 1998])
        sheet.write_datetime(2, 3, datetime(2020, 1, 2), day)  # noqa: DTZ001
        sheet.write_number(2, 4, 1 / 3)
        sheet.write_row(3, 0, [12345678901, "M", 1998.0, "2020-01", 12.5])
        sheet.write_row(5, 0, ["A3", "M"])
        sheet.write_formula(5, 4, "=1/0", None, "#DIV/0!")
        made.add_worksheet("sketches").write(0, 0, "anything")
        made.add_worksheet("reports").write_row(0, 0, ["unit", "date", "kind"])
    return path


def test_spreadsheet_cells_as_they_are(book):
    units, reports = read_tables(book)
    assert (units.kind, units.file, reports.kind) == ("units", "book.xlsx sheet Units", "reports")
    assert rows(units) == [
        ("007", "M", "1998", "2020-01-02", "0.3333333333333333", 3),
        ("12345678901", "M", "1998", "2020-01", "12.5", 4),
    ]
    assert units.rejected.select("line", "row").rows() == [(6, '{"c0":"A3", "c1":"M"}')]
    assert "ends in an error" in units.rejected["reason"][0]
    assert reports.rows == 0
    assert any("sketches" in note for note in units.notes)


def test_one_sheet_of_a_book_by_kind(book):
    assert [t.kind for t in read_tables(book, kind="reports")] == ["reports"]


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("b.xlsx", b"PK\x03\x04 broken", "is damaged or is no XLSX"),
        ("b.xlsx", bytes.fromhex("D0CF11E0A1B11AE1") + b"\0" * 600, "protected by a password"),
        ("b.xlsx", b"", "is empty"),
        ("units.parquet", b"PAR1 no", "is damaged or is no Parquet"),
        ("units.parquet", b"", "is empty"),
    ],
)
def test_damaged_books_and_parquet(tmp_path, name, content, message):
    with pytest.raises(BadInput, match=message):
        read_tables(write(tmp_path / name, content))


def test_books_without_a_sheet_of_ours_or_with_an_empty_one(tmp_path):
    for name, message in (("garden", "none of its sheets"), ("units", "is empty")):
        path = tmp_path / f"{name}.xlsx"
        with xlsxwriter.Workbook(path) as made:
            made.add_worksheet(name)
        with pytest.raises(BadInput, match=message):
            read_tables(path)


def test_parquet_types_as_text(tmp_path):
    from datetime import date, datetime

    path = tmp_path / "units.parquet"
    pl.DataFrame(
        {
            "unit": [7, 8],
            "model": pl.Series(["M", "N"], dtype=pl.Categorical),
            "manufactured": [date(1998, 7, 14), None],
            "enrolled_on": [datetime(2020, 1, 2), datetime(2020, 1, 2, 3, 4)],  # noqa: DTZ001
            "hours_per_year": [1998.0, 0.1],
        }
    ).write_parquet(path)
    assert rows(one(path)) == [
        ("7", "M", "1998-07-14", "2020-01-02", "1998", 1),
        ("8", "N", None, "2020-01-02 03:04:00", "0.1", 2),
    ]
    pl.DataFrame({"unit": [["a"]], "model": ["M"]}).write_parquet(path)
    with pytest.raises(BadInput, match="holds lists or bytes"):
        one(path)
