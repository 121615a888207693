"""The page that weighs what to do with one machine."""

import re

import pytest


def texts(page):
    kinds = ("title", "header", "subheader", "markdown", "caption", "info", "warning", "error")
    return [element.value for kind in kinds for element in getattr(page, kind)]


@pytest.fixture
def page(demo_store, open_view):
    return open_view("choose", unit="S-081")


def test_options_flips_and_the_caution(page):
    assert not page.exception
    assert not page.error
    assert page.title[0].value == "Keep, recap or replace"
    table = page.dataframe[0].value
    assert table["What to do"].iloc[0] == "recap it now"
    assert "buy a used one as it is" in set(table["What to do"])
    said = " ".join(texts(page))
    assert "cheapest over 10 years is to recap it now" in said
    assert re.search(r"instead if a used machine costs under [\d.]+ XTS", said)
    assert "brings the same ageing parts" in said
    assert any("Unplug it" in w.value for w in page.warning)
    assert not re.search(r"\b(inf|nan|infinity)\b", said, re.IGNORECASE)
    assert "--" not in said  # options of the command line have no place here


def test_years_prices_and_state_from_the_address(demo_store, open_view):
    page = open_view("choose", unit="S-081", years="5", choose_used="30", failed="True")
    assert not page.exception
    assert not page.error
    table = page.dataframe[0].value
    assert "recap it when it fails" not in set(table["What to do"])
    assert page.number_input(key="years").value == 5
    assert any("over 5 years" in text for text in texts(page))


def test_rules_are_reckoned_when_opened(demo_store, open_view):
    page = open_view("choose", unit="S-081", rules="True")
    assert not page.exception
    assert len(page.dataframe) == 2
    rules = page.dataframe[1].value
    assert rules["Rule"].iloc[0] == "run to failure"
    assert len(rules) == 6


def test_a_machine_of_unknown_age_is_answered_in_a_sentence(small_store, open_view):
    small_store([("A-1", "M", "working", "2019-01-01")])
    page = open_view("choose", unit="A-1", as_of="2019-12-31")
    assert not page.exception
    assert "what a planned recap costs for model M is not known" in page.error[0].value


def test_an_empty_store_says_what_to_do_first(empty_store, open_view):
    page = open_view("choose")
    assert not page.exception
    assert any("the page Bring in data" in info.value for info in page.info)
