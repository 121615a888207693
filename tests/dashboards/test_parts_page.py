"""The parts page on the demo."""

import pytest

NAMES = ["Part", "Verdict", "Measure first", "What speaks against it"]


@pytest.fixture
def page(demo_store, open_view):
    """The page at a place for an axial part."""
    shown = open_view("parts", model="WQ18", position="C2")
    assert not shown.exception
    assert not shown.error
    return shown


def test_every_part_has_its_verdict_and_what_speaks_against_it(page):
    table = page.dataframe[0].value
    assert list(table.columns) == NAMES
    verdicts = dict(zip(table["Part"], table["Verdict"], strict=True))
    assert verdicts["HN-1000-35"] == "fits with care"  # a radial part that stands
    assert verdicts["HN-1000-50A"] == "does not fit"  # an axial one that is too wide
    assert any(text.value.startswith(f"Of {len(table)} parts") for text in page.markdown)
    assert any("lead form axial" in text.value for text in page.caption)
    assert any("unplug" in text.value.lower() for text in page.warning)


def test_every_reason_of_one_part_has_a_source(page):
    part = page.selectbox(key="stand_in").set_value("HN-1000-50A").run()
    reasons = part.table[0].value
    assert list(reasons.columns) == ["Point", "Says", "Reason", "Source"]
    assert reasons["Source"].str.len().min() > 0
    assert "does not fit" in set(reasons["Says"])


def test_a_part_in_the_hand_is_judged_by_what_is_printed_on_it(page):
    typed = page.text_input(key="part_in_hand").input("1000uF 35V 85C 12.5x20 radial").run()
    assert any("it **does not fit**" in text.value for text in typed.markdown)


def test_what_is_not_read_is_said_and_the_page_goes_on(page):
    typed = page.text_input(key="part_in_hand").input("1000 35V").run()
    assert [error.value for error in typed.error] == [
        "'1000' has no unit; write 1000uF, 1000nF, 1000V, 1000C or the like"
    ]
    assert any(head.value == "When was it made?" for head in typed.subheader)


def test_a_place_without_voltage_leaves_the_rest_of_the_page(demo_store, open_view):
    shown = open_view("parts", model="IX07", position="C4")
    assert not shown.exception
    assert ["IX07 C4 has no voltage on record" in error.value for error in shown.error] == [True]
    assert any(head.value == "When was it made?" for head in shown.subheader)


def test_an_empty_store_says_what_to_do_first(empty_store, open_view):
    shown = open_view("parts")
    assert not shown.exception
    assert any("fleet add position" in info.value for info in shown.info)
