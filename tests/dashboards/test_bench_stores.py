"""Plan, choice, parts and bench sheet on stores that hold little, or only one thing."""

import re

import pytest

VIEWS = ("plan", "choose", "parts", "sheet")
STORES = {
    "one machine": [("U1", "K1", "working", "2012-03-01")],
    "no failure": [(f"U{n}", "K1", "working", "2012-03-01") for n in range(6)],
    "all failed": [(f"U{n}", "K1", "failed", f"{2008 + n}-03-01") for n in range(6)],
}
# What the page says to do next, in a sentence.
NEXT = {
    ("plan", "one machine"): "No machine is due",
    ("plan", "no failure"): "No machine is due",
    ("plan", "all failed"): "No machine is due",
    ("choose", "one machine"): "what a planned recap costs for model K1 is not known",
    ("choose", "no failure"): "what a planned recap costs for model K1 is not known",
    ("choose", "all failed"): "what a planned recap costs for model K1 is not known",
    ("parts", "one machine"): "Describe one at the foot of this page",
    ("parts", "no failure"): "Describe one at the foot of this page",
    ("parts", "all failed"): "Describe one at the foot of this page",
    ("sheet", "one machine"): "No positions of K1 are recorded",
    ("sheet", "no failure"): "No positions of K1 are recorded",
    ("sheet", "all failed"): "No positions of K1 are recorded",
}


def _said(page):
    kinds = ("markdown", "caption", "info", "warning", "error", "success")
    return " ".join(element.value for kind in kinds for element in getattr(page, kind))


@pytest.mark.parametrize("view", VIEWS)
def test_an_empty_store_says_what_to_do_first(empty_store, open_view, view):
    page = open_view(view)
    assert not page.exception
    assert page.info
    assert re.search(r"[Bb]ring|Describe", page.info[0].value)


@pytest.mark.parametrize("held", STORES)
@pytest.mark.parametrize("view", VIEWS)
def test_a_sentence_says_what_to_do_next(small_store, open_view, view, held):
    small_store(STORES[held])
    page = open_view(view, unit="U1" if held == "one machine" else "U2", as_of="2015-01-01")
    assert not page.exception
    said = _said(page)
    assert NEXT[view, held] in said
    assert not re.search(r"\b(inf|nan|None|null)\b", said, re.IGNORECASE)


@pytest.mark.parametrize(
    "address",
    [
        {"months": "-3", "bench_hours": "lots", "budget": "inf", "lose": "2099-13"},
        {"order_months": "1e9", "enough": "nan", "policy": "<script>", "risk": ""},
    ],
)
def test_odd_addresses_of_the_plan_fall_back_to_what_is_usual(small_store, open_view, address):
    small_store(STORES["no failure"])
    page = open_view("plan", as_of="2015-01-01", **address)
    assert not page.exception
    assert not page.error
    assert page.number_input(key="months").value == 24


def test_odd_addresses_of_the_choice_fall_back_too(demo_store, open_view):
    page = open_view("choose", unit="nobody", years="0.5", choose_used="-1", failed="perhaps")
    assert not page.exception
    assert "Choose a machine" in _said(page)
