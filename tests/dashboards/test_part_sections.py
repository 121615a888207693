"""How long a part lasts and what its date code means, as sections of a page."""

import pytest

PAGE = """
import part_code_section
import part_life_section
import shared

place = shared.open_page("Parts", "Two sections of it.")
part_life_section.draw(place)
part_code_section.draw(place)
"""


@pytest.fixture
def sections(demo_store):
    """The two sections alone, with an address if need be."""
    from streamlit.testing.v1 import AppTest

    def opened(**address):
        page = AppTest.from_string(PAGE, default_timeout=60)
        for name, value in address.items():
            page.query_params[name] = value
        page = page.run()
        assert not page.exception
        return page

    return opened


def _said(page):
    kinds = ("markdown", "caption", "error")
    return " ".join(element.value for kind in kinds for element in getattr(page, kind))


def test_a_part_of_the_offers_in_warm_air(sections):
    page = sections(life_part="HN-220-25", life_air="85.0", life_hours="8760.0")
    table = page.dataframe[0].value
    # twenty kelvin below its rating
    assert table["Heat, times"].iloc[0] == pytest.approx(4.0)
    assert "in air of 85 °C" in _said(page)
    assert "not a promise" in _said(page)


def test_ripple_beyond_the_rating_is_a_warning_in_sight(sections):
    page = sections(life_part="HN-220-25", life_air="65.0", life_ripple="1000.0")  # of 640 mA
    assert any("makers do not permit it" in warning.value for warning in page.warning)
    page = sections(life_part="HN-220-25", life_air="65.0", life_ripple="5000.0")
    assert "7.81 times what the part is rated for" in page.error[0].value


def test_facts_typed_by_hand(sections):
    page = sections(life_part="facts typed here", life_air="65.0", life_hours="4000.0")
    # 2000 h at 105 °C: 32,000 h, in 4,000 h a year 8 years
    assert page.dataframe[0].value["Years"].iloc[0] == pytest.approx(8.0)


def test_a_fact_that_cannot_be_leaves_the_rest_of_the_page(sections):
    page = sections(life_air="120.0")
    assert "choose a part rated higher" in page.error[0].value
    assert any("When was it made?" in title.value for title in page.header)


def test_a_code_and_a_model(sections):
    page = sections(code_model="DQ31")
    page.text_input(key="part_code").set_value("R3").run()
    table = page.dataframe[-1].value
    assert table["Can be"].tolist() == ["too early", "factory part", "later repair"]


def test_a_code_that_cannot_be(sections):
    page = sections()
    page.text_input(key="part_code").set_value("9861").run()
    assert "61 is no week" in page.error[0].value
