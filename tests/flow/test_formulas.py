"""Which texts a spreadsheet would run (the list of OWASP, "CSV Injection"), and CSV that quotes
them."""

import csv
import io

import polars as pl
import pytest

from fleet.flow.formulas import quoted, quoted_csv


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("http://x.example","y")', "+49 30 1234", "-2+3", "@SUM(A1)", "\t=1", "\rx",
        "  =1+1", "=cmd|' /C calc'!A0", "|cmd", "%x",
    ],
)  # fmt: skip
def test_a_text_that_would_run_is_quoted(text):
    assert quoted(text) == f"'{text}"


@pytest.mark.parametrize(
    "text", ["", "HC-10", "-4", "+4.5", "-1e-3", ".5", "3 = 4", "'=1", "a@b.c"]
)
def test_numbers_and_other_texts_stay(text):
    assert quoted(text) == text


def test_a_table_is_quoted_in_its_cells_and_heads_and_numbers_stay_numbers():
    frame = pl.DataFrame({"unit": ["=1+1", "A-1", None], "=x": [-1.5, 2.0, None]})
    rows = list(csv.reader(io.StringIO(quoted_csv(frame))))
    assert rows == [["unit", "'=x"], ["'=1+1", "-1.5"], ["A-1", "2.0"], ["", ""]]
