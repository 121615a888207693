"""The page on the data's health: ranked, asked for, linked to where it is put right."""

import re

import pytest

AT = "2026-06-30"


@pytest.fixture(scope="module")
def page(built_demo, open_view):
    import os

    before = os.environ.get("FLEET_STORE")
    os.environ["FLEET_STORE"] = str(built_demo)
    try:
        yield open_view("health", as_of=AT)
    finally:
        os.environ.pop("FLEET_STORE")
        if before is not None:
            os.environ["FLEET_STORE"] = before


def said(page):
    kinds = ("header", "subheader", "markdown", "caption", "info", "warning", "success")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


def test_findings_are_ranked_each_with_what_to_do(page):
    assert not page.exception
    assert not page.error
    ranks = [int(m) for m in re.findall(r"\*\*(\d+)\.\*\* ", said(page))]
    assert ranks == list(range(1, len(ranks) + 1))
    assert len(ranks) > 5
    assert said(page).count("What to do: ") == len(ranks)
    assert re.search(r"changes an answer much: up to \d+ %", said(page))


def test_whom_to_ask_next_is_a_list_to_paste(page):
    assert "Whom to ask next" in said(page)
    assert re.match(r"U-\d+, ", page.code[0].value)


def test_sources_told_twice_and_pooling_are_there(page):
    text = said(page)
    assert "Little Ambling lending shed: 113 machines" in text
    assert "1 event may have been told by two people" in text
    assert "May lives be taken together?" in text


def test_the_caution_stands_where_somebody_is_sent_inside(page):
    assert any("Unplug it" in w.value for w in page.warning)


def test_nothing_on_the_page_is_a_command_line(page):
    assert "fleet " not in said(page)
    cells = " ".join(str(table.value.to_dict()) for table in page.dataframe)
    assert "fleet " not in cells
    assert "--" not in cells


def test_each_finding_says_how_many_machines_and_where_it_is_put_right(page):
    text = said(page)
    assert "Not reported working for more than 2 years: 68 machines: S-012" in text
    assert "Failures: cause unknown in 12 of 195 (12 machines)" in text
    links = [(link.proto.label, link.proto.query_string) for link in page.get("page_link")]
    assert ("Log U-033", "unit=U-033") in links
    assert ("Correct U-005", "unit=U-005") in links
    assert ("Curves of BZ62", "model=BZ62") in links


def test_what_hardly_matters_is_folded_away(page):
    box = next(e for e in page.expander if "hardly changes an answer" in e.label)
    assert len(box.get("page_link")) > 0
    told = "\n".join(m.value for m in box.markdown)
    assert told.count("What to do: ") == int(box.label.split()[0])
    assert "a report says it was retired" in told  # not by the name of its record


SMALL = {
    "one machine": [("A-1", "M1", "working", "2015-03-01")],
    "no failures": [(f"A-{n}", "M1", "working", f"2015-0{n}-01") for n in range(1, 6)],
    "all failed": [(f"A-{n}", "M1", "failed", f"20{n + 9}-03-0{n}") for n in range(1, 6)],
}


@pytest.mark.parametrize("name", SMALL)
def test_small_stores_say_what_to_do(small_store, open_view, name):
    small_store(SMALL[name])
    page = open_view("health", as_of="2020-01-01", test_pooling="True")
    assert not page.exception
    assert not page.error
    assert "1. M1 (" in said(page).replace("*", "")  # what recaps and failures cost is not known
    assert "What to do: Say what a planned recap costs, and a failure" in said(page)
    assert "no answer without it" in said(page)
    assert "fleet " not in said(page)


def test_a_store_without_machines_says_how_to_begin(empty_store, open_view):
    page = open_view("health")
    assert not page.exception
    assert any("no machines yet" in info.value for info in page.info)


def test_who_may_only_read_is_led_to_no_page_that_writes(small_store, open_view, monkeypatch):
    import access

    from fleet.flow.access import Person

    small_store(SMALL["no failures"])
    monkeypatch.setattr(access, "person", lambda: Person(name="joren@example.org", role="read"))
    page = open_view("health", as_of="2020-01-01")
    assert not page.exception
    assert "What to do: " in said(page)
    assert not any(link.proto.page.endswith(("log", "bring_in")) for link in page.get("page_link"))
