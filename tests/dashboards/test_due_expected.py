"""Failures to come, on the due page."""

import re

from fleet.flow.demo import suggested_as_of
from fleet.flow.expected import expected_failures


def _said(page):
    kinds = ("markdown", "caption", "info", "warning")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def _numbers(page):
    """The table of the section: the one with quarters' ends."""
    return next(f.value for f in page.dataframe if "Expected to fail" in f.value.columns)


def test_it_is_reckoned_only_where_it_is_opened(demo_store, open_view):
    page = open_view("due")
    assert not page.exception
    assert not any("will fail by their capacitors" in text for text in _said(page))


def test_numbers_are_those_of_the_chain(demo_store, open_view):
    page = open_view("due", show_expected="True")
    assert not page.exception
    chain = expected_failures(demo_store, as_of=suggested_as_of(demo_store))
    table = _numbers(page)
    assert table["Expected to fail"].tolist() == chain.frame["expected"].to_list()
    assert table["at most"].tolist() == chain.frame["high"].to_list()
    assert any("In all models together" in text for text in _said(page))
    assert any("fail again are not counted" in text for text in _said(page))
    assert not [t for t in _said(page) if re.search(r"\b(inf|nan)\b|--", t, re.I)]


def test_choices_come_from_the_address_and_models_from_the_page(demo_store, open_view):
    page = open_view("due", show_expected="True", quarters="3.0", again="True", model="DQ31")
    assert not page.exception
    table = _numbers(page)
    assert set(table["Model"]) == {"DQ31"}
    assert len(table) == 3
    said = " ".join(_said(page))
    assert "In DQ31" in said
    assert "In all models together" not in said
    assert "fail again (once)" in said
