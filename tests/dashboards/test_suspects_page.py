"""The page on batches and designs, as Streamlit runs it and in a real browser."""

import re

import pytest


def _texts(page):
    kinds = ("title", "header", "subheader", "markdown", "caption", "info", "warning", "error")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def test_the_demos_bad_batch_leads_the_page(demo_store, open_view):
    page = open_view("suspects")
    assert not page.exception
    assert not page.error
    assert page.title[0].value == "Batch or design?"
    table = page.dataframe[0].value
    assert table["Batch"].iloc[0] == "Moss-0917"
    assert table["Verdict"].tolist().count("shorter life") == 1
    assert any("Suspect: Moss-0917 in BZ62 lives shorter" in text for text in _texts(page))
    # measuring is advised for positions: the caution is on the page itself, in no fold
    assert [w.value for w in page.warning if "Unplug it" in w.value]
    folded = " ".join(m.value for fold in page.expander for m in fold.markdown)
    assert "Before anyone opens or measures" not in folded
    cells = [str(v) for e in page.dataframe for c in e.value.columns for v in e.value[c]]
    said = [*_texts(page), *cells]
    assert not [text for text in said if re.search(r"\b(inf|infinity)\b", text, re.I)]


def test_replaced_parts_are_a_list_of_their_own(demo_store, open_view):
    page = open_view("suspects", parts="replaced")
    assert not page.exception
    assert page.selectbox(key="parts").value == "replaced"
    assert "Moss-0917" not in set(page.dataframe[0].value["Batch"])
    assert any("same batch in several models" in text for text in _texts(page))


def test_an_earlier_day_and_another_reading_of_causes(demo_store, open_view):
    page = open_view("suspects", as_of="2016-01-01", unknown_cause="other")
    assert not page.exception
    assert not page.error
    assert page.selectbox(key="unknown_cause").value == "other"


def test_a_store_without_named_batches_says_so(small_store, open_view):
    rows = [(f"U{n}", "K1", "failed" if n < 6 else "working", "2012-03-01") for n in range(20)]
    small_store(rows)
    page = open_view("suspects", as_of="2019-01-01")
    assert not page.exception
    assert any("No batch is named" in text for text in _texts(page))


@pytest.mark.browser
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_fits_wide_and_phone_screens(server, browser, width):
    page = browser.new_page(viewport={"width": width, "height": 900})
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(f"{server}/suspects")
    page.get_by_text("Why some sets last longer than others").wait_for(timeout=120_000)
    page.locator("canvas, svg.marks").first.wait_for(timeout=60_000)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.get_by_text("Suspect: Moss-0917").is_visible()
    assert faults == []
    page.close()
