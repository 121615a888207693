"""Pages that show an earlier day say that something was entered since, and fresh ones show it."""

from datetime import date

from fleet.flow.demo import look_at
from fleet.flow.entering import log_reports

TODAY = date.today()  # noqa: DTZ011 - the pages' own day


def _log(store):
    log_reports(store, "working", ["S-045"], {"date": "2026-07"}, today=TODAY, by=None)


def _said(page):
    return [m.value for m in page.markdown if "not counted here" in m.value]


def test_the_demo_is_read_at_its_cut_until_somebody_enters_something(demo_store, open_view):
    cut = look_at(demo_store).suggested_as_of
    page = open_view("units", unit="S-045")
    assert page.date_input(key="as_of").value == cut
    assert _said(page) == []
    _log(demo_store)
    assert look_at(demo_store).suggested_as_of is None
    assert open_view("units", unit="S-045").date_input(key="as_of").value == TODAY


def test_an_earlier_day_says_what_it_leaves_out_and_the_way_to_it(demo_store, open_view):
    _log(demo_store)
    page = open_view("units", unit="S-045", as_of="2026-06-30")
    (said,) = _said(page)
    assert f"the last of it on {TODAY}" in said
    page.button(key="show_today").click().run()
    assert page.date_input(key="as_of").value == TODAY
    assert _said(page) == []
