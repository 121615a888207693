"""The due page with a life given for the parts that go in."""


def _said(page):
    return " ".join(e.value for kind in ("markdown", "caption") for e in getattr(page, kind))


def test_a_life_in_years(demo_store, open_view):
    page = open_view("due", new_parts="years", new_parts_years="30.0")
    assert not page.exception
    assert not page.error
    assert "a typical life (Weibull scale) of 30 years" in _said(page)


def test_a_part_of_the_offers(demo_store, open_view):
    page = open_view("due", new_parts="part", new_part="HN-220-25", new_part_air="70.0")
    assert not page.exception
    assert not page.error
    assert "New parts: HN-220-25" in _said(page)
    assert "not a promise" in _said(page)


def test_a_life_and_the_reports_alone_do_not_go_together(demo_store, open_view):
    page = open_view("due", new_parts="years", estimate="both")
    assert "goes with the posterior alone" in page.error[0].value
