"""The pages as Streamlit runs them, without a browser."""

import re

import pytest

from fleet.flow.known import known_records

TITLES = {
    "today": "Today",
    "due": "Due list",
    "sheet": "Bench sheet",
    "log": "Log a report",
    "parts": "Parts",
    "outcomes": "How recaps turned out",
    "curves": "Curves",
    "suspects": "Batch or design?",
    "choose": "Keep, recap or replace",
    "backtest": "How well it did",
}
VIEWS = tuple(TITLES)
ADDRESSES = {"backtest": {"every": "4.0"}}  # few past days: they are what takes time


def texts(page):
    """Every text a person reads on the page, tables left out."""
    kinds = (
        "title",
        "header",
        "subheader",
        "markdown",
        "caption",
        "info",
        "warning",
        "error",
        "success",
    )
    return [element.value for kind in kinds for element in getattr(page, kind)]


def cells(page):
    """Every text cell of every table on the page."""
    frames = [element.value for element in page.dataframe]
    return [str(v) for f in frames for c in f.columns for v in f[c] if isinstance(v, str)]


@pytest.mark.parametrize("view", VIEWS)
def test_page_on_the_demo(demo_store, open_view, view):
    page = open_view(view, **ADDRESSES.get(view, {}))
    assert not page.exception
    assert not page.error
    assert page.title[0].value == TITLES[view]
    assert any("Invented data" in text for text in texts(page))


@pytest.mark.parametrize("view", VIEWS)
def test_page_on_an_empty_store_says_what_to_do_first(empty_store, open_view, view):
    page = open_view(view)
    assert not page.exception
    ways = ("fleet import", "the page Bring in data")
    assert any(way in info.value for info in page.info for way in ways)


@pytest.mark.parametrize("view", VIEWS)
def test_page_without_a_store_says_how_to_make_one(tmp_path, monkeypatch, open_view, view):
    monkeypatch.setenv("FLEET_STORE", str(tmp_path / "nowhere.duckdb"))
    page = open_view(view)
    assert not page.exception
    assert any("fleet demo" in info.value for info in page.info)


@pytest.mark.parametrize("view", VIEWS)
def test_a_file_that_is_no_store_is_answered_in_a_sentence(tmp_path, monkeypatch, open_view, view):
    store = tmp_path / "holiday.duckdb"
    store.write_bytes(b"not a store" * 1_000)
    monkeypatch.setenv("FLEET_STORE", str(store))
    page = open_view(view)
    assert not page.exception
    assert "holiday.duckdb" in page.error[0].value


@pytest.mark.parametrize("view", [view for view in VIEWS if view != "log"])
def test_nothing_says_inf_or_nan(demo_store, open_view, view):
    page = open_view(view, **ADDRESSES.get(view, {}))
    said = [*texts(page), *cells(page)]
    assert said
    assert [text for text in said if re.search(r"\b(inf|nan|infinity)\b", text, re.I)] == []


def test_curves_by_model_and_batch(demo_store, open_view):
    page = open_view("curves")
    page.selectbox(key="by").select("model,batch").run()
    assert not page.exception
    groups = page.multiselect(key="groups_model_batch")
    assert len(groups.value) == 4
    assert len(groups.options) > 4


def test_grouping_from_the_address(demo_store, open_view):
    page = open_view("curves", by="model,batch")
    assert page.selectbox(key="by").value == "model,batch"


def test_curves_have_a_sentence_for_each_group_and_a_table(demo_store, open_view):
    page = open_view("curves")
    sentences = next(m.value for m in page.markdown if "failures among" in m.value)
    shown = page.multiselect(key="groups_model").value
    assert all(f"**{group}**" in sentences for group in shown)
    at_risk = page.dataframe[0].value
    assert {"Group", "Age (years)", "At risk (sets)", "Failures so far"} <= set(at_risk.columns)
    assert set(at_risk["Group"]) <= set(shown)


def test_curves_with_nothing_chosen_do_not_fail(demo_store, open_view):
    page = open_view("curves")
    page.multiselect(key="groups_model").set_value([]).run()
    assert not page.exception
    assert "No group is chosen: choose one above to see its curve." in texts(page)


def test_units_of_the_demo_can_all_be_chosen(demo_store, open_view):
    units = known_records(demo_store, ("units",), as_of=None)["units"]["unit"].n_unique()
    assert len(open_view("log").selectbox(key="unit").options) == units
