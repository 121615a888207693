"""Pages left open by somebody whose role was taken away meanwhile: no button of them writes."""

import access
import pytest

from fleet.flow.access import Person
from fleet.flow.known import known_records
from fleet.store import stamp

OWNER = Person(name="odile@example.org", role="manage")
READER = Person(name="odile@example.org", role="read")


@pytest.fixture
def refused(monkeypatch):
    """A function that takes the role away, presses a button, and sees that nothing was written."""
    monkeypatch.setattr(access, "person", lambda: OWNER)

    def pressed(page, store, key=None, label=None, told=True):
        assert not page.exception
        button = next(b for b in page.button if b.key == key or b.label == label)
        assert not button.disabled
        before = stamp(store)
        monkeypatch.setattr(access, "person", lambda: READER)
        button.click().run()
        assert not page.exception
        assert stamp(store) == before
        refusals = [e.value for e in page.error if "yours is read. Nothing was changed" in e.value]
        assert len(refusals) >= told

    return pressed


@pytest.fixture
def club(small_store):
    return small_store([("U1", "M", "working", "2019-01-01"), ("U2", "M", "failed", "2019-01-01")])


def report_of(store, unit="U1"):
    return known_records(store, ("reports",), as_of=None, unit=unit)["reports"]["record"][0]


def test_taking_a_new_report_back(club, open_view, refused):
    page = open_view("log", unit="U1", log_kind="working")
    page.text_input(key="log_date").set_value("2019-06-01").run()
    page.button(key="log_save").click().run()
    refused(page, club, key="log_take_back")


def corrected(page, store):
    record = report_of(store)
    page.selectbox(key="amend_record").set_value(record).run()
    return page.text_input(key=f"amend_{record}_date").set_value("2019-02").run()


def test_saving_a_correction(club, open_view, refused):
    refused(
        corrected(open_view("units", unit="U1", show_correct="True"), club), club, key="amend_save"
    )


def test_undoing_a_correction(club, open_view, refused):
    page = corrected(open_view("units", unit="U1", show_correct="True"), club)
    page.button(key="amend_save").click().run()
    refused(page, club, key="amend_undo")


def test_taking_an_old_report_back(club, open_view, refused):
    page = open_view("units", unit="U1", show_correct="True")
    page.selectbox(key="amend_record").set_value(report_of(club)).run()
    refused(page, club, key="amend_take_back")


def priced(page):
    page.text_input(key="entry_part").set_value("HN-NEW")
    page.text_input(key="entry_part_facts").set_value("47uF 25V 105C 6.3x11 radial")
    page.number_input(key="entry_price").set_value(0.4)
    return page.text_input(key="entry_currency").set_value("XTS").run()


def test_keeping_a_part_with_its_price(demo_store, open_view, refused):
    refused(
        priced(open_view("parts", model="IX07", enter_part="True")),
        demo_store,
        key="entry_keep_part",
    )


def test_taking_a_part_back(demo_store, open_view, refused):
    page = priced(open_view("parts", model="IX07", enter_part="True"))
    page.button(key="entry_keep_part").click().run()
    refused(page, demo_store, key="entry_undo")


def stepped(page):
    page.selectbox(key="step_moment").set_value("opening")
    page.text_area(key="step_text").set_value("the left clip breaks: warm it first")
    return page


def test_keeping_a_step(demo_store, open_view, refused):
    page = stepped(open_view("sheet", sheet_for="model", sheet_model="IX07"))
    refused(page, demo_store, label="Keep it")


def test_taking_a_step_back(demo_store, open_view, refused):
    page = stepped(open_view("sheet", sheet_for="model", sheet_model="IX07"))
    next(b for b in page.button if b.label == "Keep it").click().run()
    refused(page, demo_store, label="Take the step back")


def given(page):
    page.radio(key="bring_from").set_value("text").run()
    rows = "unit,date,kind\nU1,2019-07-04,working\n"
    return page.text_area(key="bring_text").set_value(rows).run()


def test_bringing_rows_in(club, open_view, refused):
    """Here the page itself is closed to them from the next run on."""
    page = given(open_view("bring_in"))
    refused(page, club, key="bring_go", told=False)
    assert not any(b.key == "bring_go" for b in page.button)
    assert not any("Brought in as" in success.value for success in page.success)


def test_taking_an_import_back(club, open_view, refused):
    page = given(open_view("bring_in"))
    page.button(key="bring_go").click().run()
    refused(page, club, key="bring_undo_last")
