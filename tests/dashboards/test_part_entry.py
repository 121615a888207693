"""Places and parts entered on the parts page: looked at while typed, kept, taken back."""

import pytest

from fleet.flow.known import known_records


@pytest.fixture
def page(demo_store, open_view):
    """The page at a place of which nobody wrote down the voltage."""
    opened = {"enter_place": "True", "enter_part": "True"}
    shown = open_view("parts", model="IX07", position="C4", **opened)
    assert not shown.exception
    return shown


def _said(page):
    kinds = ("caption", "success", "error", "info")
    return " ".join(element.value for kind in kinds for element in getattr(page, kind))


def _kept(store, kind, **which):
    return known_records(store, (kind,), as_of=None)[kind].filter(**which)


def _place(page, name, facts, model="IX07"):
    page.selectbox(key="entry_model").set_value(model)
    page.text_input(key="entry_position").set_value(name)
    page.text_input(key="entry_place_facts").set_value(facts)
    return page.run()


def test_nothing_can_be_kept_before_it_is_typed(page):
    assert page.button(key="entry_keep_place").disabled
    assert page.button(key="entry_keep_part").disabled


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ("1000 25V", "'1000' has no unit"),
        ("25V 105C", "gives no capacitance"),
        ("1000uF 25V 35V", "gives the voltage twice"),
        ("1000uF 25V 900C 10x20 radial", "900 °C"),
    ],
)
def test_what_cannot_be_is_said_in_place_and_stays_typed(page, facts, why):
    page = _place(page, "C99", facts)
    assert not page.exception
    assert why.replace("'", "'") in _said(page).replace("\\", "")
    assert page.button(key="entry_keep_place").disabled
    assert page.text_input(key="entry_place_facts").value == facts


def test_a_new_place_is_kept_with_what_is_still_to_measure_and_taken_back(demo_store, page):
    page = _place(page, "C99", "47uF 25V 105C radial")
    assert "Still to measure before anything is ordered for it: diameter, length" in _said(page)
    page.button(key="entry_keep_place").click().run()
    assert not page.exception
    assert "Kept: IX07 C99" in _said(page)
    row = _kept(demo_store, "positions", model="IX07", position="C99").row(0, named=True)
    assert (row["capacitance"], row["voltage"], row["lead_form"]) == ("47uF", 25.0, "radial")
    page.button(key="entry_undo").click().run()
    assert "Taken back" in _said(page)
    assert _kept(demo_store, "positions", model="IX07", position="C99").is_empty()


def test_a_place_on_record_is_corrected_and_can_then_be_judged(demo_store, page):
    before = _kept(demo_store, "positions", model="IX07", position="C4").row(0, named=True)
    assert before["voltage"] is None
    page = _place(page, "c4", f"{before['capacitance']} 25V")
    assert "is on record: what is typed corrects it" in _said(page)
    page.button(key="entry_keep_place").click().run()
    assert not page.exception
    after = _kept(demo_store, "positions", model="IX07", position="C4")
    assert after["voltage"].to_list() == [25.0]
    assert after["lead_form"][0] == before["lead_form"]  # what was not typed stays
    assert not page.error


def test_an_offer_needs_its_currency_and_is_kept(demo_store, page):
    page.text_input(key="entry_part").set_value("HN-NEW")
    page.text_input(key="entry_part_facts").set_value("47uF 25V 105C 6.3x11 radial")
    page.number_input(key="entry_price").set_value(0.4)
    page.text_input(key="entry_currency").set_value("euros")
    page.run()
    assert "A price needs its currency" in _said(page)
    assert page.button(key="entry_keep_part").disabled
    page.text_input(key="entry_currency").set_value("xts").run()
    page.button(key="entry_keep_part").click().run()
    assert not page.exception
    row = _kept(demo_store, "offers", part="HN-NEW").row(0, named=True)
    assert (row["price"], row["currency"], row["diameter_mm"]) == (0.4, "XTS", 6.3)


def test_other_facts_of_a_part_on_record_are_refused_and_stay_typed(demo_store, page):
    page.text_input(key="entry_part").set_value("HN-22-400")
    page.text_input(key="entry_part_facts").set_value("22uF 250V").run()
    page.button(key="entry_keep_part").click().run()
    assert not page.exception
    assert "HN-22-400 is on record with other facts" in _said(page)
    assert page.text_input(key="entry_part_facts").value == "22uF 250V"
    assert _kept(demo_store, "offers", part="HN-22-400", voltage=250.0).is_empty()
