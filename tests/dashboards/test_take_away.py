"""Charts and tables are taken away as files: which pages have which, and what the files hold."""

from datetime import date
from io import BytesIO

import altair as alt
import fastexcel
import polars as pl
import pytest
import take_away

from fleet import charts

# Pages with what has to be opened for all of it to be drawn, and pictures and tables to take away.
PAGES = {
    "due": ({"show_expected": "True"}, {"Picture"}, {"Download the list", "Download the numbers"}),
    "plan": ({}, {"Picture"}, {"Download the jobs", "Table"}),
    "outcomes": ({}, {"Picture"}, {"Download the jobs", "Table"}),
    "curves": ({"show_rate": "True"}, {"Picture"}, {"Table"}),
    "suspects": ({}, {"Picture"}, {"Table"}),
    "choose": ({"unit": "S-081"}, {"Picture"}, {"Table"}),
    "parts": ({"part_life": "HN-220-25"}, {"Picture"}, {"Table"}),
    "backtest": ({"every": "4.0"}, {"Picture"}, {"Table"}),
}


@pytest.mark.parametrize("view", PAGES)
def test_charts_as_two_pictures_and_tables_as_two_files(demo_store, open_view, view):
    address, pictures, tables = PAGES[view]
    page = open_view(view, **address)
    assert not page.exception
    labels = {button.label for button in page.get("download_button")}
    for names, forms in ((pictures, ("PNG", "SVG")), (tables, ("CSV", "XLSX"))):
        assert {f"{name} ({form})" for name in names for form in forms} <= labels


def test_lists_become_one_text_and_text_that_looks_like_a_sum_stays_text():
    frame = pl.DataFrame(
        {"unit": ["=1+1"], "on": [date(2026, 6, 30)], "cost": [1.5], "positions": [["C1", "C4"]]}
    )
    flat = take_away._flat(frame)
    assert flat["positions"].to_list() == ["C1;C4"]
    book = fastexcel.read_excel(take_away._workbook(flat))
    row = book.load_sheet(0).to_polars().row(0, named=True)
    assert (row["unit"], row["cost"], row["positions"]) == ("=1+1", 1.5, "C1;C4")
    assert str(row["on"]).startswith("2026-06-30")


def test_a_csv_taken_away_runs_no_formula():
    frame = pl.DataFrame({"unit": ["=1+1", "A-1"], "positions": [["@C1"], ["C1", "C4"]]})
    said = take_away._text_file(frame).decode()
    assert said == "unit,positions\n'=1+1,'@C1\nA-1,C1;C4\n"


def test_pictures_are_pictures():
    chart = alt.Chart(pl.DataFrame({"x": [1], "y": [2]})).mark_point().encode(x="x", y="y")
    assert charts.as_picture(chart, "png").startswith(b"\x89PNG")
    assert b"<svg" in BytesIO(charts.as_picture(chart, "svg")).read(200)


def test_of_a_long_table_the_first_rows_are_sent_and_that_is_said():
    def page():
        import polars as pl
        import take_away

        take_away.shown(pl.DataFrame({"Number": range(2_500)}), "numbers", what="Numbers")

    from streamlit.testing.v1 import AppTest

    run = AppTest.from_function(page, default_timeout=60).run()
    assert not run.exception
    assert run.dataframe[0].value.shape == (1_000, 1)
    assert "The first 1,000 of 2,500 rows" in run.caption[0].value
