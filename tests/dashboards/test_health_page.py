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
    ranks = [int(m) for m in re.findall(r"\*\*(\d+)\. ", said(page))]
    assert ranks == list(range(1, len(ranks) + 1))
    assert len(ranks) > 5
    assert said(page).count("What to do: ") == len(ranks)
    assert re.search(r"changes an answer by up to [\d.]+ %", said(page))


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


def test_commands_are_set_as_commands():
    from pathlib import Path

    text = Path(__file__).resolve().parents[2] / "dashboards" / "views" / "health.py"
    found = re.search(r"_COMMAND = re\.compile\(\n(.*?)\n\)", text.read_text(), re.S)
    pattern = re.compile("".join(re.findall(r'r"([^"]*)"', found[1])))
    told = (
        "check in: fleet log working U-1 S-2 --on DATE, and fleet log failed for those that do "
        "not; see fleet fit --by model,batch; fleet amend r-1 --set date=2023-10-01."
    )
    assert [m[0] for m in pattern.finditer(told)] == [
        "fleet log working U-1 S-2 --on DATE",
        "fleet log failed",
        "fleet fit --by model,batch",
        "fleet amend r-1 --set date=2023-10-01",
    ]
