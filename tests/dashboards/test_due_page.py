"""The due list on its page: what decides first, filters and order in the address, two charts."""

import json
import re

import pytest

from fleet.flow.demo import suggested_as_of
from fleet.flow.due import due
from fleet.flow.due_when import overdue

DECIDES = ["Machine", "What to do", "Due", "Fails in 2 years"]


@pytest.fixture
def demo(built_demo, monkeypatch):
    """The demo itself, read only: what was reckoned for one test is there for the next."""
    monkeypatch.setenv("FLEET_STORE", str(built_demo))
    return built_demo


def said(page):
    kinds = ("header", "subheader", "markdown", "caption", "info", "warning", "error")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def listed(store, **asked):
    return due(store, as_of=suggested_as_of(store), **asked).frame


def drawn(page):
    return [json.loads(chart.proto.spec) for chart in page.get("vega_lite_chart")]


def test_what_decides_comes_first(demo, open_view):
    page = open_view("due")
    assert not page.exception
    table = page.dataframe[0].value
    assert list(table.columns[:4]) == DECIDES
    assert list(table["Machine"]) == listed(demo)["unit"].to_list()
    assert set(table["Fails in 2 years"].str.contains(r"^\d+ in [\d,]+$|^less than|^almost")) == {
        True
    }
    first = table["Machine"].iloc[0]
    assert any(text.startswith(f"**{first}: ") for text in said(page))
    assert any("90 % limits" in text for text in said(page))
    assert f"{len(table)} working machines, as known on 30 June 2026." in said(page)


def test_what_is_to_be_done_is_counted_and_chosen_by_a_touch(demo, open_view):
    whole = listed(demo)
    page = open_view("due", action=["measure", "recap_now"])
    pills = page.button_group(key="action") if hasattr(page, "button_group") else page.pills[0]
    count = whole.filter(action="measure").height
    assert f"Measure first: {count}" in [option.content for option in pills.proto.options]
    assert set(page.dataframe[0].value["What to do"]) == {
        "measure first", "recap now", "ask, then recap", "ask, then measure",
    }  # fmt: skip
    assert any(f" of {whole.height}, as known" in text for text in said(page))


def test_filtered_and_ordered_from_the_address(demo, open_view):
    whole = listed(demo)
    model = whole["model"].sort()[0]
    page = open_view("due", model=model, order="age")
    table = page.dataframe[0].value
    assert set(table["Model"]) == {model}
    ages = list(table["Age of parts (years)"])
    assert ages == sorted(ages, reverse=True)
    assert len(set(ages)) > 1
    assert page.selectbox(key="order").value == "age"


def test_dates_missed_are_shown_as_they_were(demo, open_view):
    table = open_view("due", order="due").dataframe[0].value
    dates = [str(day)[:10] for day in table["Due"] if str(day) not in ("NaT", "None")]
    assert dates == sorted(dates)
    late = listed(demo).filter(overdue()).height
    assert sum(day < "2026-06-30" for day in dates) == late > 0


@pytest.mark.parametrize(
    "odd", [{"order": "sideways"}, {"model": "nobody"}, {"action": "dance"}, {"as_of": "never"},
            {"horizon": "-3"}, {"policy": "luck"}],
)  # fmt: skip
def test_odd_addresses_show_the_plain_list(demo, open_view, odd):
    page = open_view("due", **odd)
    assert not page.exception
    assert not page.error
    assert len(page.dataframe[0].value) == listed(demo).height


def test_what_waits_and_what_comes_are_two_charts(demo, open_view):
    page = open_view("due")
    late = listed(demo).filter(overdue()).height
    assert any(f"{late} machines have passed their date and wait now" in t for t in said(page))
    waiting, coming = drawn(page)[:2]
    assert waiting["layer"][0]["encoding"]["y"]["title"] == "Past its date for"
    domain = coming["layer"][0]["encoding"]["x"]["scale"]["domain"]
    assert domain[0] > "2026 Q2"


def test_as_of_an_earlier_day(demo, open_view):
    page = open_view("due", as_of="2016-01-01")
    assert not page.exception
    assert any("1 January 2016" in text for text in said(page))


@pytest.mark.parametrize(
    "rows",
    [
        [("U1", "M", "working", "2019-01-01")],
        [("U1", "M", "working", "2019-01-01"), ("U2", "M", "working", "2018-01-01")],
    ],
)
def test_a_store_of_few_machines_without_failures(small_store, open_view, rows):
    small_store(rows)
    page = open_view("due", as_of="2020-02-01")
    assert not page.exception
    assert not page.error
    assert len(page.dataframe[0].value) == len(rows)
    assert not re.search(r"\b(inf|nan|None|null)\b", "\n".join(said(page)))


def test_a_store_where_all_failed_says_what_to_do(small_store, open_view):
    small_store([("U1", "M", "failed", "2019-01-01"), ("U2", "M", "failed", "2018-01-01")])
    page = open_view("due", as_of="2020-02-01")
    assert not page.exception
    assert not page.error
    assert any("No machine was known to be working on 1 February 2020" in t for t in said(page))
    assert any("reports it working" in t for t in said(page))
