"""What stands round a page: its name in the tab, a word until it is there, the caution."""

import opening
import pytest
import streamlit as st


def _captions(page):
    return [caption.value for caption in page.caption]


def test_the_tab_names_the_page(empty_store, open_view, monkeypatch):
    told = []
    monkeypatch.setattr(st, "set_page_config", lambda **how: told.append(how["page_title"]))
    open_view("due")
    assert told[-1] == "Due list: Recap Almanac"


def test_a_word_stands_there_until_the_page_does(monkeypatch):
    places, drawn = [], []

    class Word:
        caption = empty = staticmethod(lambda *text: drawn.append(text))

        def __init__(self):
            places.append(self)

    monkeypatch.setattr(st, "session_state", {})
    monkeypatch.setattr(st, "empty", Word)
    with opening.said("Due list"):
        assert "half a minute" in drawn[0][0]
        assert "Due list" in drawn[0][0]
        assert len(drawn) == 1
    assert drawn[1:] == [()]
    with opening.said("Due list"):  # seen before: nothing comes and goes
        assert len(drawn) == 2
    assert len(places) == 2  # its place is kept all the same: what is below stays where it is


@pytest.mark.parametrize("view", ["today", "due", "plan"])
def test_the_caution_stands_once_before_the_ways_to_a_machine(built_demo, open_view, monkeypatch,
                                                              view):  # fmt: skip
    monkeypatch.setenv("FLEET_STORE", str(built_demo))
    page = open_view(view, as_of="2026-06-30")
    assert not page.exception
    assert not any("Opening" in text for text in _captions(page))
    assert [w.value for w in page.warning if "nplug" in w.value] == [page.warning[0].value]
    order = [
        "caution" if element.type == "warning" else "way"
        for element in _all(page.main)
        if element.type == "warning"
        or (element.type == "page_link" and element.proto.page.endswith("sheet"))
    ]
    assert order[0] == "caution"
    assert "way" in order


@pytest.mark.parametrize(
    ("view", "asked", "before"),
    [
        ("choose", {"unit": "S-075"}, "What could be done"),
        ("outcomes", {}, "Job by job"),
    ],
)
def test_the_caution_stands_before_what_sends_somebody_to_a_machine(
    built_demo, open_view, monkeypatch, view, asked, before
):
    monkeypatch.setenv("FLEET_STORE", str(built_demo))
    page = open_view(view, as_of="2026-06-30", **asked)
    assert not page.exception
    assert len([w for w in page.warning if "nplug" in w.value]) == 1
    order = [e.value for e in _all(page.main) if e.type in ("warning", "header")]
    assert next(i for i, said in enumerate(order) if "nplug" in said) < order.index(before)


def _all(block):
    for child in block.children.values():
        if hasattr(child, "children"):
            yield from _all(child)
        else:
            yield child
