"""The order as a file: read back as a purchaser's program reads it, and no formula runs."""

import csv
import io
import zipfile

import fastexcel
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.order_buy import BUY
from fleet.flow.order_rows import ROWS
from fleet.sheets.order_file import form_of, order_csv, order_xlsx

NASTY = '=HYPERLINK("http://example.invalid","here")'


def _buy(*rows):
    usual = {
        "part": "HC-10",
        "description": "10uF, ±20%, 50 V, 105 °C",
        "quantity": 12,
        "unit_price": 0.125,
        "line_total": 1.5,
        "currency": "XTS",
        "supplier": "Northern parts",
        "positions": "KM-1 C1, KM-1 C2",
        "units": "A-1, A-2",
        "lead_days": 4.0,
        "date_code": "2610",
        "date_code_advice": "fresh enough.",
    }
    return pl.DataFrame([{**usual, **row} for row in rows or ({},)], schema=BUY)


SHIPPING = pl.DataFrame({"supplier": ["Northern parts"], "shipping": [3.5]})
MEASURE = pl.DataFrame(
    [
        {
            **dict.fromkeys(ROWS.names()),
            "model": "KM-1",
            "position": "C9",
            "needed": 2,
            "measure_first": ["voltage", "length"],
            "advice": "Measure before ordering: voltage, length.",
        }
    ],
    schema=ROWS,
)
WHY = pl.DataFrame(
    {
        "model": ["KM-1"],
        "position": ["C1"],
        "part": ["HC-10"],
        "sentence": ["HC-10 fits, rated 7000 h at 105 °C"],
    }
)


def _book(tmp_path, buy):
    path = tmp_path / "order.xlsx"
    path.write_bytes(order_xlsx(buy, SHIPPING, "XTS", measure=MEASURE, why=WHY))
    return path


def test_the_csv_has_a_row_a_part_and_one_for_shipping():
    rows = list(csv.DictReader(io.StringIO(order_csv(_buy(), SHIPPING, "XTS"))))
    assert [row["Part"] for row in rows] == ["HC-10", "Shipping"]
    assert rows[0]["Quantity"] == "12"
    assert float(rows[0]["Line total"]) == 1.5
    assert rows[0]["For positions"] == "KM-1 C1, KM-1 C2"
    assert rows[1]["Line total"] == "3.5"
    assert sum(float(row["Line total"]) for row in rows) == 5.0
    for row in rows:
        assert float(row["Quantity"]) * float(row["Unit price"]) == float(row["Line total"])


def test_the_workbook_reads_back_with_its_three_sheets(tmp_path):
    path = _book(tmp_path, _buy())
    assert fastexcel.read_excel(path).sheet_names == ["order", "measure before ordering", "why"]
    order = pl.read_excel(path, sheet_name="order")
    assert order["Part"].to_list() == ["HC-10", "Shipping"]
    assert order["Quantity"].dtype.is_numeric()
    assert order["Line total"].to_list() == [1.5, 3.5]
    assert order["Date code offered"][0] in ("2610", 2610)
    measure = pl.read_excel(path, sheet_name="measure before ordering")
    assert measure["Measure or ask"].to_list() == ["voltage, length"]
    assert measure["Machines"].to_list() == [2]
    why = pl.read_excel(path, sheet_name="why")
    assert why["Why"].to_list() == ["HC-10 fits, rated 7000 h at 105 °C"]


@pytest.mark.parametrize(
    "text", [NASTY, "+1+1", "-2+3", "@SUM(A1)", "\t=1+1", "  =1+1", "\r=1", "|cmd", "{=1+1}"]
)
def test_what_a_record_says_is_never_a_formula(tmp_path, text):
    buy = _buy({"part": text, "supplier": text})
    cells = next(iter(csv.DictReader(io.StringIO(order_csv(buy, SHIPPING, "XTS")))))
    for name in ("Part", "Supplier"):
        assert not cells[name].startswith(("=", "+", "-", "@", "\t", "\r", "|"))
        assert not cells[name].lstrip().startswith(("=", "+", "-", "@", "|"))
    path = _book(tmp_path, buy)
    with zipfile.ZipFile(path) as book:
        sheets = [n for n in book.namelist() if n.startswith("xl/worksheets/sheet")]
        assert len(sheets) == 3
        # a formula is an element f; a link would be in relations of the sheet
        assert not any(b"<f>" in book.read(name) or b"<f " in book.read(name) for name in sheets)
        assert not [n for n in book.namelist() if "worksheets/_rels" in n]
    order = pl.read_excel(path, sheet_name="order")
    assert order["Part"][0].strip() == text.strip()


def test_plain_parts_and_numbers_below_zero_stay_as_they_are():
    text = order_csv(_buy({"part": "HC-10", "unit_price": -0.5, "line_total": -6.0}), SHIPPING, "X")
    row = next(iter(csv.DictReader(io.StringIO(text))))
    assert (row["Part"], row["Unit price"], row["Line total"]) == ("HC-10", "-0.5", "-6")


def test_nothing_to_buy_is_a_header():
    text = order_csv(_buy().clear(), SHIPPING.clear(), None)
    assert text.count("\n") == 1


def test_a_file_of_another_kind_is_refused(tmp_path):
    assert form_of(tmp_path / "a.XLSX") == "xlsx"
    with pytest.raises(BadInput, match=r"should end in \.csv or \.xlsx"):
        form_of(tmp_path / "order.pdf")
