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
    assert any("lead form axial" in text.value for text in page.markdown)
    told = next(
        text.value for text in page.markdown if "**HN-1000-35** fits with care" in text.value
    )
    assert "does not fit" not in told
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


def test_all_that_was_typed_is_in_the_address(demo_store, open_view):
    page = open_view(
        "parts",
        model="WQ18",
        position="C2",
        part_in_hand="1000uF 35V 85C 12.5x20 radial",
        part_code="R3",
        code_model="DQ31",
        life_part="facts typed here",
        life_voltage="35.0",
    )
    assert not page.exception
    assert any("it **does not fit**" in text.value for text in page.markdown)
    assert page.text_input(key="part_code").value == "R3"
    assert page.number_input(key="life_voltage").value == 35.0
    page.text_input(key="part_in_hand").input("1000uF 35V 105C 12.5x20 radial").run()
    assert page.query_params["part_in_hand"] == "1000uF 35V 105C 12.5x20 radial"
    page.text_input(key="part_in_hand").input("").run()
    assert "part_in_hand" not in page.query_params


@pytest.mark.parametrize("odd", ["<b>1</b>", "1" * 5000, "1000uF -- ;", "\u0000"])
def test_odd_texts_in_the_address_are_said_and_break_nothing(demo_store, open_view, odd):
    page = open_view("parts", model="WQ18", position="C2", part_in_hand=odd, part_code=odd)
    assert not page.exception
    assert page.error
    assert any(head.value == "Enter a place or a part" for head in page.header)


def test_what_is_not_read_is_said_and_the_page_goes_on(page):
    typed = page.text_input(key="part_in_hand").input("1000 35V").run()
    assert [error.value for error in typed.error] == [
        "'1000' has no unit; write 1000uF, 1000nF, 1000V, 1000C or the like"
    ]
    assert any(head.value == "When was it made?" for head in typed.header)


def test_a_place_without_voltage_leaves_the_rest_of_the_page(demo_store, open_view):
    shown = open_view("parts", model="IX07", position="C4")
    assert not shown.exception
    assert ["IX07 C4 has no voltage on record" in error.value for error in shown.error] == [True]
    assert any(head.value == "When was it made?" for head in shown.header)


def test_an_empty_store_says_what_to_do_first(empty_store, open_view):
    shown = open_view("parts")
    assert not shown.exception
    assert any("Describe one at the foot" in info.value for info in shown.info)
    assert "fleet " not in " ".join(info.value for info in shown.info)


def test_the_place_s_own_warning_leads_and_its_ratings_stand_in_the_boxes(demo_store, open_view):
    page = open_view("parts", model="DQ31", position="C1", life_part="HN-47-400")
    assert not page.exception
    first = page.warning[0].value
    assert first.startswith("**DQ31 C1 (400 V): holds mains voltage after unplugging")
    assert "Unplug it" in first
    assert page.number_input(key="life_ripple").value == 600.0
    assert page.number_input(key="life_volts").value == 400.0
    assert any("600 mA and 400 V are what the part in DQ31 C1" in c.value for c in page.caption)
    page.selectbox(key="position").set_value("C9").run()
    assert page.number_input(key="life_volts").value != 400.0
    assert page.warning[0].value.startswith("**Before anyone opens the machine.**")
