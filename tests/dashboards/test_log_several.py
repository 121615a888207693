"""Logging one report about several machines, and the page in small stores."""

import pytest
import shared

from fleet.flow.known import known_records
from fleet.flow.photos import photos_of


@pytest.fixture
def roll_call(demo_store, open_view):
    page = open_view("log")
    page.toggle(key="log_many").set_value(True).run()
    return page


def reports(store):
    return known_records(store, ("reports",), as_of=None)["reports"]


def said(page):
    kinds = ("caption", "info", "success", "markdown")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


def test_several_are_tapped_or_typed_and_saved_at_once(roll_call, demo_store):
    before = reports(demo_store).height
    roll_call.multiselect(key="log_units").set_value(["S-075"]).run()
    roll_call.text_area(key="log_names").set_value("U-007, u 009").run()
    assert "read as U-007, U-009" in said(roll_call)
    roll_call.pills(key="log_kind").set_value("working").run()
    assert roll_call.button(key="log_save").label == "Save the report on 3 machines"
    roll_call.button(key="log_save").click().run()
    assert not roll_call.exception
    assert not roll_call.error
    new = reports(demo_store).filter(entered_on=shared.today(), kind="working")
    assert {"S-075", "U-007", "U-009"} <= set(new["unit"])
    assert reports(demo_store).height == before + 3
    assert "3 machines (S-075, U-007, U-009)" in said(roll_call)
    assert "3 records were kept" in said(roll_call)
    assert roll_call.text_area(key="log_names").value == ""

    roll_call.button(key="log_take_back").click().run()
    assert reports(demo_store).height == before
    assert "3 records count no more" in said(roll_call)


def test_a_name_that_two_machines_have_is_asked_about(roll_call):
    roll_call.text_area(key="log_names").set_value("007").run()
    assert "could be" in said(roll_call)
    assert "log_save" not in {button.key for button in roll_call.button}


def test_yesterday_is_one_tap(demo_store, open_view, working_unit):
    page = open_view("log", unit=working_unit[0], log_kind="failed")
    assert page.button(key="log_date_today").icon == ":material/check:"
    page.button(key="log_date_yesterday").click().run()
    yesterday = str(shared.today().fromordinal(shared.today().toordinal() - 1))
    assert page.text_input(key="log_date").value == yesterday
    page.text_input(key="log_date").set_value("2024-07").run()
    marks = [page.button(key=f"log_date_{name}").icon for name in ("today", "yesterday")]
    assert marks == ["", ""]


def test_positions_that_are_offered_and_others(demo_store, open_view, working_unit):
    unit = working_unit[0]
    page = open_view("log", unit=unit, log_kind="failed")
    tapped = page.pills(key="log_positions").options[1]
    page.pills(key="log_positions").set_value([tapped]).run()
    page.text_input(key="log_other_positions").set_value("C98, C99").run()
    page.pills(key="log_cause").set_value("").run()
    page.button(key="log_save").click().run()
    assert not page.error
    newest = reports(demo_store).filter(unit=unit, entered_on=shared.today())
    assert newest["positions"].to_list() == [f"{tapped};C98;C99"]
    told = " ".join(caption.value for caption in page.caption)
    assert "on the page Parts" in told  # where a place is described
    assert "fleet add" not in told
    assert photos_of(demo_store, unit=unit).is_empty()


def test_a_photo_that_is_gone_is_named(demo_store, open_view, working_unit):
    page = open_view("log", unit=working_unit[0], log_kind="working")
    assert "chosen again" not in said(page)
    page.session_state["log_photo_names"] = ["before.jpg", "after [2].jpg"]  # as of a draft
    page.run()
    assert "The photos must be chosen again: before.jpg, after \\[2\\].jpg" in said(page)
    page.button(key="log_save").click().run()
    assert "chosen again" not in said(page)


def test_an_odd_address_is_no_fault(demo_store, open_view):
    page = open_view("log", unit="no such", log_kind="exploded")
    assert not page.exception
    assert page.selectbox(key="unit").value is None


def test_an_empty_store_says_what_to_do(empty_store, open_view):
    page = open_view("log")
    assert not page.exception
    assert "no machines yet" in said(page)


@pytest.mark.parametrize(
    "rows",
    [
        [("A1", "M1", "working", "2020-01-01")],
        [("A1", "M1", "working", "2020-01-01"), ("A2", "M1", "working", "2019")],
        [("A1", "M1", "failed", "2012"), ("A2", "M1", "failed", "2015-05")],
    ],
    ids=["one", "no-failure", "all-failed"],
)
def test_small_stores(small_store, open_view, rows):
    store = small_store(rows)
    page = open_view("log", unit="A1", log_kind="working")
    assert not page.exception
    page.button(key="log_save").click().run()
    assert not page.exception
    assert reports(store).filter(unit="A1", entered_on=shared.today()).height == 1
