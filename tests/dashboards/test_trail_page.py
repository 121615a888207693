"""Who did what on its page: by time, person and machine, and only for those who manage."""

from datetime import date

import access
import pytest

from fleet.flow.access import Person
from fleet.flow.entering import amend_record, log_reports
from fleet.occasion import Occasion, on_occasion


@pytest.fixture
def written(small_store):
    store = small_store(
        [("U1", "M", "working", "2019-01-01"), ("U2", "M", "working", "2019-01-01")]
    )
    with on_occasion(Occasion(through="page Log a report", who="pim@example.org")):
        done = log_reports(
            store, "working", ["U1"], {"date": "2019-06-01"}, today=date(2020, 7, 1), by=None
        )  # fmt: skip
    amend_record(store, done.records[0], {"notes": "hums"}, today=date(2020, 7, 1), by="ann")
    return store


def lines(page):
    return page.dataframe[0].value.select_dtypes("object").fillna("").to_dict("records")


def test_each_write_is_a_line_the_newest_first(written, open_view):
    page = open_view("trail", trail_span="all")
    assert not page.exception
    first, second, *_ = lines(page)
    assert (first["Who"], first["What was done"]) == ("ann", "corrected: U1")
    assert (second["Who"], second["What was done"]) == ("pim@example.org", "reported working: U1")
    assert second["Through"] == "Log a report"
    assert any("by 2 people" in said.value for said in page.markdown)


def test_time_person_and_machine_are_in_the_address(written, open_view):
    page = open_view("trail", trail_span="all")
    assert len(lines(page)) > 2
    assert not open_view("trail", trail_span="week").dataframe  # all of it was written years ago
    page = open_view("trail", trail_span="all", trail_unit="U2", trail_by="nobody")
    assert {line["What was done"].split(": ")[1] for line in lines(page)} == {"U2"}
    page = open_view("trail", trail_span="all", trail_by="ann")
    assert [line["Who"] for line in lines(page)] == ["ann"]


def test_a_line_of_many_records_says_how_many_and_one_is_named(written, open_view):
    done = {line["What was done"] for line in lines(open_view("trail", trail_span="all"))}
    brought = {one.rpartition(": ")[2] for one in done if one.startswith("brought in ")}
    assert {"2 machines", "2 reports", "a source", "a model"} <= brought


def test_who_does_not_manage_sees_none_of_it(written, open_view, monkeypatch):
    monkeypatch.setattr(access, "person", lambda: Person(name="joren@example.org", role="log"))
    page = open_view("trail")
    assert not page.dataframe
    assert "reported working" not in str(page)


def test_an_empty_store_says_so(empty_store, open_view):
    page = open_view("trail")
    assert any("Nothing was written yet" in info.value for info in page.info)


def test_of_very_many_machines_the_name_is_typed(small_store, open_view):
    many = [(f"U{n}", "M", "working", "2019-01-01") for n in range(2_001)]
    small_store(many)
    page = open_view("trail", trail_span="all", trail_unit="U1777")
    assert not page.exception
    assert [field.label for field in page.selectbox] == ["How far back", "Who"]
    assert page.text_input[0].value == "U1777"
    assert {row["What was done"].split(": ")[1] for row in lines(page)} == {"U1777"}
    page.text_input[0].set_value("U99999").run()
    assert any("No machine is called U99999" in said.value for said in page.caption)
