"""The group report of the demo: every part answered, drawn, and nothing private in it."""

import re
from datetime import date

import pytest

from fleet.charts.group_report import draw_report_pictures
from fleet.flow.group_report import group_report
from fleet.flow.known import known_records
from fleet.sheets.group_report import group_report_page

DAY = date(2026, 6, 30)
STEPS = []


@pytest.fixture(scope="module")
def gathered(demo_store):
    return group_report(demo_store, as_of=DAY, quick=True, step=STEPS.append)


@pytest.fixture(scope="module")
def page(gathered):
    pictures = draw_report_pictures(
        due=gathered.due, curves=gathered.curves, quarters=gathered.quarters, as_of=DAY
    )
    assert set(pictures) == {"due", "expected", "curves"}
    assert all(b"<svg" in picture for picture in pictures.values())
    return group_report_page(gathered, pictures)


def test_every_part_is_answered(gathered):
    assert [part.title for part in gathered.parts] == [
        "Due list", "Failures to expect", "How long they last", "Batch or design?", "Plan", "Order",
    ]  # fmt: skip
    assert len(STEPS) == len(gathered.parts)
    assert all(part.said and not part.said[0].startswith("No answer") for part in gathered.parts)
    assert gathered.invented


def test_the_page_has_pictures_tables_and_no_number_that_is_none(page):
    assert page.count("<img ") == 3
    assert page.count("<table>") >= 6
    assert "Invented data" in page
    words = re.sub(r"<[^>]*>", " ", page.split("</style>")[1])
    assert re.findall(r"\b(?:inf|nan|None)\b", words) == []


def test_machines_that_are_due_are_listed(gathered, page):
    due = gathered.due.filter(action="recap_now")["unit"].to_list()
    assert due
    assert [unit for unit in due if f">{unit}<" not in page] == []


def test_private_facts_are_not_in_it(demo_store, page):
    units = known_records(demo_store, ("units",), as_of=None)["units"]
    private = {v for c in ("serial", "notes") for v in units[c].drop_nulls().to_list()}
    assert [text for text in private if len(text) > 3 and text in page] == []
