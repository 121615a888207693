"""An order as a file that a purchaser can send: CSV, or XLSX with what to measure and why.

Cells that would be taken for a formula are made plain text: what a record says is never run.
"""

import csv
import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import polars as pl

from fleet.errors import BadInput
from fleet.flow.formulas import quoted

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]+")
_HEADS: Mapping[str, str] = {
    "part": "Part",
    "description": "Description",
    "quantity": "Quantity",
    "unit_price": "Unit price",
    "line_total": "Line total",
    "currency": "Currency",
    "supplier": "Supplier",
    "positions": "For positions",
    "units": "For machines",
    "lead_days": "Days to the shelf",
    "date_code": "Date code offered",
    "date_code_advice": "About its age",
}
_SHIPPING = "Shipping"
_WIDEST = 60


def order_csv(buy: pl.DataFrame, shipping: pl.DataFrame, currency: str | None) -> str:
    """The lines to buy and each supplier's shipping as CSV text, with a header."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEADS.values())
    for row in _lines(buy, shipping, currency):
        writer.writerow([_plain(cell) for cell in row])
    return out.getvalue()


def order_xlsx(
    buy: pl.DataFrame,
    shipping: pl.DataFrame,
    currency: str | None,
    *,
    measure: pl.DataFrame,
    why: pl.DataFrame,
) -> bytes:
    """A workbook: sheets `order`, `measure before ordering` and `why`; numbers are numbers.

    `buy`, `shipping`, `measure` and `why` as in flow.order.Order.
    """
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False}) as book:
        _sheet(book, "order", list(_HEADS.values()), _lines(buy, shipping, currency))
        _sheet(
            book,
            "measure before ordering",
            ["Model", "Position", "Part in mind", "Machines", "Measure or ask", "What is known"],
            [
                [r["model"], r["position"], r["part"], r["needed"], _joined(r), r["advice"]]
                for r in measure.iter_rows(named=True)
            ],
        )
        _sheet(
            book,
            "why",
            ["Model", "Position", "Part", "Why"],
            [
                [r["model"], r["position"], r["part"], r["sentence"]]
                for r in why.iter_rows(named=True)
            ],
        )
    return out.getvalue()


def form_of(path: Path) -> str:
    """Either csv or xlsx, by the file's ending. Raises BadInput for another."""
    form = path.suffix.lower().lstrip(".")
    if form not in ("csv", "xlsx"):
        raise BadInput(f"{path.name} should end in .csv or .xlsx; name the file so")
    return form


def _lines(buy: pl.DataFrame, shipping: pl.DataFrame, currency: str | None) -> list[list[Any]]:
    """Rows to buy, and one row for the shipping of each supplier."""
    money = ("unit_price", "line_total")
    rounded = buy.with_columns(pl.col(money).round(4))  # a price may have parts of a cent
    rows = [[row[name] for name in _HEADS] for row in rounded.iter_rows(named=True)]
    names = list(_HEADS)
    for supplier, charge in shipping.iter_rows():
        row: list[Any] = [None] * len(names)
        for name, value in (
            ("part", _SHIPPING),
            ("quantity", 1),
            ("unit_price", charge),
            ("line_total", charge),
            ("currency", currency),
            ("supplier", supplier),
        ):
            row[names.index(name)] = value
        rows.append(row)
    return rows


def _joined(row: Mapping[str, Any]) -> str:
    return ", ".join(row["measure_first"] or ())


def _plain(cell: object) -> object:
    """A cell that no spreadsheet takes for a formula: a text that begins like one is quoted."""
    if isinstance(cell, float):
        return f"{cell:.10g}"
    if not isinstance(cell, str):
        return cell
    return quoted(_on_one_line(cell))


def _on_one_line(text: str) -> str:
    return _CONTROL.sub(" ", text)


def _sheet(book: Any, name: str, heads: list[str], rows: list[list[Any]]) -> None:  # noqa: ANN401
    sheet = book.add_worksheet(name)
    bold = book.add_format({"bold": True, "bottom": 1})
    for column, head in enumerate(heads):
        sheet.write_string(0, column, head, bold)
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    plain = book.add_format({"valign": "top"})
    for at, row in enumerate(rows, start=1):
        for column, cell in enumerate(row):
            if isinstance(cell, bool) or cell is None:
                continue
            if isinstance(cell, int | float):
                sheet.write_number(at, column, cell, plain)
            else:
                sheet.write_string(at, column, _on_one_line(str(cell)), wrap)
    for column, head in enumerate(heads):
        longest = max((len(str(row[column])) for row in rows if row[column] is not None), default=0)
        sheet.set_column(column, column, min(max(longest, len(head)) + 2, _WIDEST))
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
