"""The machine a page is about: one chooser for the pages that ask for one."""

import choose_machine
import pytest

PAGES = ("units", "log", "sheet")


@pytest.mark.parametrize("view", PAGES)
def test_pages_offer_a_machine_alike(demo_store, open_view, view):
    page = open_view(view, as_of="2026-06-30")
    labels = page.selectbox(key="unit").options
    assert any(label.startswith("S-075 · B1481-34 · BZ62 · ") for label in labels)
    assert open_view(view, unit="S-075").selectbox(key="unit").value == "S-075"


def test_of_many_machines_those_that_match_are_offered(demo_store, open_view, monkeypatch):
    monkeypatch.setattr(choose_machine, "_AT_ONCE", 10)
    monkeypatch.setattr(choose_machine, "_OFFERED", 3)
    page = open_view("units", unit="S-075", as_of="2026-06-30")
    assert page.selectbox(key="unit").value == "S-075"
    assert len(page.selectbox(key="unit").options) == 1
    page.text_input(key="unit_search").set_value("u-0").run()
    assert not page.exception
    offered = page.selectbox(key="unit").options
    assert [label[:3] for label in offered[1:]] == ["U-0"] * 3
    assert any("type more of it" in caption.value for caption in page.caption)
    assert page.selectbox(key="unit").value == "S-075"
    page.text_input(key="unit_search").set_value("b1481-34").run()
    assert len(page.selectbox(key="unit").options) == 1


def test_a_number_that_several_machines_have_is_said_with_the_others_one_tap_away(
    demo_store, open_view
):
    page = open_view("log")
    page.selectbox(key="unit").set_value("Q-045").run()
    assert any("3 machines have this number; this is **Q-045**" in c.value for c in page.caption)
    page.pills(key="log_kind").set_value("working").run()
    page.button(key="unit_instead_U-045").click().run()
    assert not page.exception
    assert page.selectbox(key="unit").value == "U-045"
    assert page.button(key="log_save").label == "Save the report on U-045"
    assert any("this is **U-045**" in c.value for c in page.caption)


def test_a_machine_from_a_link_is_not_asked_about(demo_store, open_view):
    page = open_view("log", unit="Q-045")
    assert not any("have this number" in c.value for c in page.caption)


@pytest.mark.parametrize("odd", ["nobody", "", "S-075 ", "<b>"])
def test_an_address_with_no_such_machine_asks_for_one(demo_store, open_view, odd):
    page = open_view("units", unit=odd)
    assert not page.exception
    assert page.selectbox(key="unit").value is None
    assert any("Choose a machine" in info.value for info in page.info)
