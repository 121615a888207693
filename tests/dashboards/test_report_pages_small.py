"""The pages on what the reports say, on stores with hardly anything in them."""

import re

import pytest

PAGES = ("curves", "suspects", "backtest", "outcomes")
STORES = {
    "one unit": [("U1", "KB-1", "working", "2012-03-01")],
    "no failure": [(f"U{n}", "KB-1", "working", f"201{n % 8}-03-01") for n in range(12)],
    "all failed": [(f"U{n}", "KB-1", "failed", f"20{10 + n % 8}-0{1 + n % 9}-01")
                   for n in range(12)],
}  # fmt: skip
# What is open on the curves page besides what always is.
SECTIONS = {f"show_{name}": "True" for name in ("chances", "rate", "groups", "again", "numbers")}
# Each page's own words where there is nothing to show, or what it says instead.
SAYS = {
    ("curves", "one unit"): "No failure has been reported here yet",
    ("curves", "no failure"): "No failure has been reported here yet",
    ("curves", "all failed"): "12 failures among 12 lives",
    ("suspects", "one unit"): "fail",
    ("suspects", "no failure"): "fail",
    ("suspects", "all failed"): "No machine's batch is named|No batch is named|fewer than two",
    ("backtest", "one unit"): "too little history|too few failures|was any machine known to work",
    ("backtest", "no failure"): "too few failures",
    ("backtest", "all failed"): "Of 100 machines|too few failures",
    ("outcomes", "one unit"): "No recap is known yet",
    ("outcomes", "no failure"): "No recap is known yet",
    ("outcomes", "all failed"): "No recap is known yet",
}


def texts(page):
    kinds = ("markdown", "caption", "info", "warning", "error")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


@pytest.mark.parametrize("view", PAGES)
def test_an_empty_store_says_what_to_do_first(empty_store, open_view, view):
    page = open_view(view)
    assert not page.exception
    assert any("The store has no machines yet" in info.value for info in page.info)


@pytest.mark.parametrize("view", PAGES)
@pytest.mark.parametrize("kept", STORES)
def test_small_stores_are_answered_in_words(small_store, open_view, view, kept):
    small_store(STORES[kept])
    address = SECTIONS if view == "curves" else {}
    page = open_view(view, as_of="2019-12-01", **address)
    assert not page.exception
    assert not page.error
    said = texts(page)
    assert re.search(SAYS[view, kept], said), said
    assert not re.search(r"\b0 to 0 years|\bto 0 years|\b1 lives\b", said)
    assert not re.search(r"\b(inf|nan|null)\b|\bfleet \w+ -|--\w", said, re.IGNORECASE)
    cells = "\n".join(str(v) for f in page.dataframe for c in f.value for v in f.value[c].dropna())
    assert not re.search(r"\b(inf|infinity)\b", cells, re.IGNORECASE)


@pytest.mark.parametrize("view", PAGES)
def test_odd_values_in_the_address_break_no_page(small_store, open_view, view):
    small_store(STORES["one unit"])
    odd = {"as_of": "yesterday", "by": "colour", "model": "gone", "level": "9", "parts": "<b>",
           "unknown_cause": "x", "early_months": "nan", "ahead": "inf", "every": "-1", "few": "2",
           "groups_model": "none", "show_rate": "maybe"}  # fmt: skip
    page = open_view(view, **odd)
    assert not page.exception
    assert not page.error
