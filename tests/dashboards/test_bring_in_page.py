"""Bringing data in on its page: look first, then in, then back."""

from pathlib import Path

import access
import pytest
from streamlit.testing.v1 import AppTest

from fleet.flow.access import Person
from fleet.flow.importing import list_imports
from fleet.flow.known import known_records

VIEW = Path(access.__file__).parent / "views" / "bring_in.py"
ROWS = (
    b"Machine,When,What,Comments,Shelf\n"
    b"U-007,2026-07-04,working,tried,A1\n"
    b"ZZ-99,2026-07-05,working,,A3\n"
    b"S-075,14/07/2026,failed,does not heat,A4\n"
)


@pytest.fixture
def page(demo_store, open_view):
    return open_view("bring_in")


def give(page, data=ROWS, name="rows.csv", kind="text/csv"):
    return page.file_uploader[0].set_value([(name, data, kind)]).run()


def said(page):
    kinds = ("header", "subheader", "markdown", "caption", "info", "error", "success")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


def chosen(page, theirs):
    return next(box for box in page.selectbox if box.label == f"“{theirs}” is")


def test_columns_are_suggested_and_nothing_is_written_by_looking(page, demo_store):
    before = list_imports(demo_store).height
    give(page)
    assert not page.exception
    assert not page.error
    names = ("Machine", "When", "What", "Comments", "Shelf")
    assert [chosen(page, name).value for name in names] == ["unit", "date", "kind", "notes", ""]
    assert "Of 3 rows, 1 would be kept, 0 are known already, and 2 would be refused." in said(page)
    assert "line 3: no unit is called ZZ-99" in said(page)
    assert "line 4: date '14/07/2026' has the year last" in said(page)
    assert list_imports(demo_store).height == before


def test_brought_in_and_taken_back(page, demo_store):
    reports = known_records(demo_store, ("reports",), as_of=None)["reports"].height
    give(page)
    page.text_input(key="bring_by").set_value("JB").run()
    page.button(key="bring_go").click().run()
    assert not page.exception
    assert "1 were kept" in said(page)
    assert "line 3: no unit is called ZZ-99" in said(page)  # told again of what was refused
    after = known_records(demo_store, ("reports",), as_of=None)["reports"]
    assert after.height == reports + 1
    new = after.filter(unit="U-007", date="2026-07-04").row(0, named=True)
    assert (new["by"], new["notes"]) == ("JB", "tried")
    assert page.dataframe[-1].value["What"].iloc[0] == "rows.csv"

    page.button(key="bring_undo_last").click().run()
    assert not page.exception
    assert "Took 1 record of i-0002 back" in said(page)
    assert known_records(demo_store, ("reports",), as_of=None)["reports"].height == reports
    assert page.dataframe[-1].value["Taken back since"].iloc[0] == 1


def test_the_same_rows_again_are_known_and_cannot_be_brought_in(page):
    give(page)
    page.button(key="bring_go").click().run()
    give(page)
    assert page.button(key="bring_go").disabled
    assert "0 would be kept, 1 are known already" in said(page)


def test_a_choice_that_cannot_be_is_said_in_place_and_kept(page):
    give(page)
    chosen(page, "What").set_value("").run()
    assert "No column is the kind, which is needed." in said(page)
    chosen(page, "Shelf").set_value("date").run()
    assert "Two columns are said to be the date; choose one." in said(page)
    assert chosen(page, "What").value == ""
    assert not any(button.key == "bring_go" for button in page.button)


def test_pasted_rows_are_read_like_a_file(page):
    page.radio(key="bring_from").set_value("text").run()
    page.text_area(key="bring_text").set_value(
        "unit\tdate\tkind\nU-007\t2026-07-04\tworking\n"
    ).run()
    assert not page.exception
    assert "**pasted.csv**: 1 row, 3 columns" in said(page)
    assert "Of 1 row, 1 would be kept" in said(page)
    page.button(key="bring_go").click().run()
    assert not page.exception
    assert "1 were kept" in said(page)
    assert page.text_area(key="bring_text").value == ""


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("rows.csv", b"\x00\x01" * 50, "not a text table"),
        ("rows.xlsx", b"PK\x03\x04 no", "damaged"),
        ("rows.csv", b'unit,date,kind\n"U1,2024,failed\n', "never closed"),
        ("rows.csv", b"", "empty"),
    ],
)
def test_a_file_that_cannot_be_read_is_said_and_the_page_stays(page, name, data, told):
    give(page, data, name, "application/octet-stream")
    assert not page.exception
    assert told in page.error[0].value
    assert "Brought in before" in said(page)


def test_a_table_nobody_can_tell_asks_what_it_is(page):
    give(page, b"height,weight\n1,2\n", "sizes.csv")
    assert "Say what these rows are, or leave the table out." in said(page)
    box = next(b for b in page.selectbox if b.label.startswith("What the rows of sizes.csv"))
    box.set_value("").run()
    assert "Every table is left out" in said(page)


def test_two_files_at_once_know_of_each_other(page, demo_store):
    files = [
        ("units.csv", b"unit,model\nNEW-1,BZ62\n", "text/csv"),
        ("reports.csv", b"unit,date,kind\nNEW-1,2026-07-04,working\n", "text/csv"),
    ]
    page.file_uploader[0].set_value(files).run()
    assert not page.exception
    assert "Of 2 rows, 2 would be kept" in said(page)


def test_only_somebody_who_keeps_order_may_bring_in(demo_store, monkeypatch):
    reader = Person(name="reader@club.example", role="read")
    monkeypatch.setattr(access, "person", lambda: reader)
    page = AppTest.from_file(str(VIEW), default_timeout=60).run()
    assert not page.exception
    assert not page.file_uploader
    assert page.error[0].value.startswith("This takes the role manage; yours is read.")


def test_a_store_without_machines_says_what_to_begin_with(empty_store, open_view):
    page = open_view("bring_in")
    assert not page.exception
    assert any("Begin with what there is: a list of machines" in i.value for i in page.info)
    assert not page.date_input  # only what is known today is taken in


def test_rows_for_a_store_of_one_machine(small_store, open_view):
    store = small_store([("U1", "M", "working", "2019-01-01")])
    page = open_view("bring_in")
    give(page, b"unit,date,kind\nU1,2019-07-04,working\n")
    assert not page.exception
    page.button(key="bring_go").click().run()
    assert not page.exception
    assert known_records(store, ("reports",), as_of=None)["reports"].height == 2
