"""From a plan to the files that leave the house: plan, order and export, in real Chromium."""

import csv
import io
import re
from datetime import date, timedelta
from pathlib import Path

import fastexcel
import polars as pl
import pytest
from icalendar import Calendar
from watching import Watched

pytestmark = [pytest.mark.browser, pytest.mark.slow]

MONTHS = "Months, the first being what is left of this one"


@pytest.fixture(params=[(1280, 900), (390, 844)], ids=["desk", "phone"])
def watched(request, browser, server):
    width, height = request.param
    context = browser.new_context(viewport={"width": width, "height": height})
    yield Watched(context.new_page(), server)
    context.close()


def number(text, pattern):
    """The number that a sentence of the page tells."""
    found = re.search(pattern, text)
    assert found, f"no {pattern} in: {text}"
    return float(found[1].replace(",", ""))


def change(watched, label, value, address):
    """Type into a box and wait until the page is drawn by it; it is then in the address."""
    watched.fill(label, value)
    watched.page.wait_for_url(re.compile(rf"[?&]{address}(\.0)?(&|$)"))
    watched.settle()


def taken(watched, button, name):
    """The bytes of the file behind a button of the page, and that it is named so."""
    with watched.page.expect_download() as download:
        watched.page.get_by_role("button", name=button, exact=True).click()
    assert re.fullmatch(name, download.value.suggested_filename)
    return Path(download.value.path()).read_bytes()


def said_of_the_order(watched):
    return watched.says(re.compile(r"parts? to buy, [\d,]+ pieces?, from")).inner_text()


def test_plan_order_and_take_away_what_agrees_with_the_page(watched):
    watched.open("plan?months=24")
    before = watched.says(re.compile(r"^[\d,]+ jobs?; ")).inner_text()
    watched.page.get_by_text("Months, hours, budget and rule").click()
    change(watched, MONTHS, "2", "months=2")
    jobs_said = watched.says(re.compile(r"^[\d,]+ jobs?; ")).inner_text()
    jobs_there = number(jobs_said, r"^([\d,]+) job")
    assert 0 < jobs_there < number(before, r"^([\d,]+) job")
    jobs = pl.read_csv(
        taken(watched, "Download the jobs (CSV)", r"plan-[\d-]+\.csv"), try_parse_dates=True
    )
    assert jobs.height == jobs_there
    grid = watched.page.locator("table[role=grid][aria-rowcount]").first
    assert int(grid.get_attribute("aria-rowcount")) - 1 == jobs.height
    book = fastexcel.read_excel(taken(watched, "Download the jobs (XLSX)", r"plan-[\d-]+\.xlsx"))
    assert book.load_sheet(0).to_polars()["unit"].to_list() == jobs["unit"].to_list()
    dates_agree(taken(watched, "Download the dates (calendar)", r"plan-[\d-]+\.ics"), jobs)
    order_agrees(watched)
    assert watched.page.locator("[data-testid='stException']").count() == 0
    assert watched.faults == []


def dates_agree(calendar, jobs):
    """Every job lies on the days of an event that names it, and no machine is in two."""
    named = {}
    for event in Calendar.from_ical(calendar).walk("VEVENT"):
        first, after = event["DTSTART"].dt, event["DTEND"].dt
        assert first < after
        for unit in str(event["DESCRIPTION"]).split(": ", 1)[1].split(", "):
            assert unit not in named
            named[unit] = (first, after - timedelta(days=1))
    assert set(named) == set(jobs["unit"])
    for unit, on in jobs.select("unit", "on").iter_rows():
        assert isinstance(on, date)
        assert named[unit][0] <= on <= named[unit][1]


def order_agrees(watched):
    """The order's two files hold the same lines, and add up to what the page says."""
    said = said_of_the_order(watched)
    raw = taken(watched, "Download the order (CSV)", r"order-[\d-]+\.csv").decode("utf-8-sig")
    lines = list(csv.DictReader(io.StringIO(raw)))
    parts = [line for line in lines if line["Part"] != "Shipping"]
    assert len({line["Part"] for line in parts}) == number(said, r"([\d,]+) parts? to buy")
    assert sum(int(line["Quantity"]) for line in parts) == number(said, r"([\d,]+) pieces?,")
    total = sum(float(line["Line total"]) for line in lines)
    assert total == pytest.approx(number(said, r"for ([\d,.]+) XTS \("), abs=0.005)
    assert {line["Currency"] for line in lines} == {"XTS"}
    suppliers = number(said, r"from ([\d,]+) suppliers?")
    assert len([line for line in lines if line["Part"] == "Shipping"]) == suppliers
    book = fastexcel.read_excel(taken(watched, "Download the order (XLSX)", r"order-[\d-]+\.xlsx"))
    assert book.sheet_names == ["order", "measure before ordering", "why"]
    sheet = book.load_sheet("order").to_polars()
    assert sheet["Part"].to_list() == [line["Part"] for line in lines]
    assert sheet["Quantity"].to_list() == [int(line["Quantity"]) for line in lines]
    assert sheet["Line total"].sum() == pytest.approx(total, abs=0.005)


def test_more_months_to_order_for_is_more_to_buy_and_is_in_the_address(watched):
    watched.open("plan?months=12&order_months=1")
    few = number(said_of_the_order(watched), r"([\d,]+) pieces?,")
    change(watched, "Order for the next (months)", "6", "order_months=6")
    watched.says(re.compile(r"to 2026-12"))
    assert number(said_of_the_order(watched), r"([\d,]+) pieces?,") > few
    assert watched.faults == []
