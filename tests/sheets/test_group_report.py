"""The group report as a page: whole, self-contained, escaped."""

from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import polars as pl
import pytest

from fleet.charts.group_report import draw_report_pictures
from fleet.errors import BadInput
from fleet.flow import group_report as gathering
from fleet.flow.group_report import GroupReport, group_report
from fleet.flow.report_parts import MOST_ROWS, ReportPart, ReportTable, due_part
from fleet.flow.table import Answer
from fleet.sheets.group_report import file_name, group_report_page

NASTY = '<script>alert("x")</script> & <b>'


class Read(HTMLParser):
    """Tags, where they point to, and the texts of a page."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.links, self.texts = [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [v for k, v in attrs if k in ("src", "href") and v]

    def handle_data(self, data):
        self.texts.append(data.strip())


def report(*parts, invented=False):
    none = pl.DataFrame()
    return GroupReport(as_of=date(2026, 6, 30), invented=invented, parts=parts, due=none,
                       curves=none, quarters=none)  # fmt: skip


def part(**changes):
    table = ReportTable(caption=NASTY, heads=("Unit", NASTY), rows=((NASTY, "1"),), more=1_234)
    made = ReportPart(title=NASTY, said=(NASTY, "A sentence."), tables=(table,), notes=(NASTY,),
                      caution=NASTY, picture="due")  # fmt: skip
    return replace(made, **changes)


def test_every_text_is_escaped_and_nothing_is_fetched():
    read = Read(group_report_page(report(part()), {"due": b"<svg onload='alert(1)'/>"}))
    assert "script" not in read.tags
    assert "svg" not in read.tags  # a picture is an image: nothing in it can act
    assert read.texts.count(NASTY) >= 5
    assert all(link.startswith(("data:image/svg+xml;base64,", "#part-")) for link in read.links)


def test_a_part_without_its_picture_goes_without():
    assert "img" not in Read(group_report_page(report(part()), {})).tags


def test_rows_left_out_are_counted_and_invented_data_are_said_to_be():
    page = group_report_page(report(part(), invented=True), {})
    assert "1,234 more rows are not printed" in page
    assert "Invented data" in page
    assert "Invented data" not in group_report_page(report(part()), {})


def test_a_long_list_is_cut_and_says_so():
    row = {"unit": "U", "model": "M", "action": "recap_now", "due_on": date(2026, 6, 30),
           "p_fail": 0.3, "horizon_years": 2.0, "reason": "Overdue. More of it."}  # fmt: skip
    frame = pl.DataFrame([row] * (MOST_ROWS + 7))
    made = due_part(Answer(frame=frame), as_of=date(2026, 6, 30))
    assert len(made.tables[0].rows) == MOST_ROWS
    assert made.tables[0].more == 7
    assert made.tables[0].rows[0] == ("U", "M", "due now", "2026-06-30", "3 in 10", "Overdue.")


def test_a_part_that_cannot_be_answered_says_why_and_the_others_stand(empty, monkeypatch):
    def refuse(*_, **__):
        raise BadInput("two currencies in one order")

    monkeypatch.setattr(gathering, "_order", refuse)
    made = group_report(empty, as_of=date(2026, 6, 30), quick=True)
    by_title = {part.title: part for part in made.parts}
    assert by_title["Order"].said == ("No answer: two currencies in one order",)
    assert len(by_title) == 6


def test_a_store_without_records_makes_a_report(empty):
    made = group_report(empty, as_of=date(2026, 6, 30))
    pictures = draw_report_pictures(due=made.due, curves=made.curves, quarters=made.quarters,
                                    as_of=made.as_of)  # fmt: skip
    page = group_report_page(made, pictures)
    assert "No machine was known to be working on 2026-06-30." in page
    assert pictures == {}


def test_file_is_named_by_its_day():
    assert file_name(report()) == "group-report-2026-06-30.html"


@pytest.fixture
def empty(tmp_path):
    from fleet.flow.entering import create_store

    store = tmp_path / "empty.duckdb"
    create_store(store)
    return store
