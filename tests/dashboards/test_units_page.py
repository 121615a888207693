"""One machine on its page: found, told whole, corrected, and the correction undone."""

import re
from datetime import date
from io import BytesIO

import access
import pytest
import words
from PIL import Image

from fleet.flow.access import Person
from fleet.flow.due import due
from fleet.flow.due_when import day_reached
from fleet.flow.entering import amend_record
from fleet.flow.known import known_records
from fleet.flow.photos import keep_photo
from fleet.flow.private_notes import write_private_notes

AT = "2026-06-30"


@pytest.fixture
def machine(demo_store, open_view):
    """A function that opens the page of a machine of the demo."""
    return lambda unit, **more: open_view("units", **{"unit": unit, "as_of": AT, **more})


def said(page):
    kinds = ("header", "subheader", "markdown", "caption", "info", "warning", "error", "success")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


def test_a_machine_is_found_by_any_part_of_its_name_or_serial(demo_store, open_view):
    page = open_view("units", as_of=AT)
    assert any("any part of its name" in info.value for info in page.info)
    labels = page.selectbox(key="unit").options
    assert any(label.startswith("S-075 · B1481-34 · BZ62") for label in labels)


def test_all_of_it_is_told(machine):
    page = machine("S-075")
    assert not page.exception
    assert not page.error
    text = said(page)
    for told in (
        "Serial: **B1481-34**",
        "If it works now, ",
        "S-075 has had 2 sets of capacitors",
        "**2018-05-09 to 2021-05-20** seen working 4 times",
        "batch: blank → Moss-0917",
        "6 readings at 3 positions",
    ):
        assert told in text
    sets = page.dataframe[0].value
    assert list(sets["Set"]) == [1, 2]
    assert sets["Failed (cause)"].iloc[0] == "2021-05-20 to 2022-05-21 (capacitor)"


def test_what_was_corrected_can_be_hidden(machine):
    page = machine("Q-056")
    assert "corrected since, counts no more" in said(page)
    page.toggle(key="unit_gone").set_value(False).run()
    assert "corrected since, counts no more" not in said(page)
    assert "cause: other → capacitor" in said(page)


def test_caution_where_somebody_is_sent_to_open_it(machine, demo_store):
    listed = due(demo_store, as_of=date.fromisoformat(AT)).frame
    first = listed.filter(action="recap_now")["unit"][0]
    page = machine(first)
    assert any("Unplug it" in w.value for w in page.warning)


def test_a_contradiction_shows_both_versions_and_is_settled_and_undone(machine, demo_store):
    page = machine("S-010")
    assert "contradict each other" in page.error[0].value
    versions = page.dataframe[0].value
    assert versions.columns[0] == "Field"
    assert len(versions.columns) == 3
    retired = next(c for c in versions.columns[1:] if "retired" in set(versions[c]))
    before = reports(demo_store, "S-010")

    next(b for b in page.button if b.label == f"Correct {retired}").click().run()
    assert page.selectbox(key="amend_record").value == retired
    assert page.button(key="amend_save").disabled  # nothing was changed yet
    page.text_input(key=f"amend_{retired}_date").set_value("09/09/2018").run()
    assert page.button(key="amend_save").disabled
    assert page.text_input(key=f"amend_{retired}_date").value == "09/09/2018"
    page.text_input(key=f"amend_{retired}_date").set_value("2018-09-09").run()
    page.button(key="amend_save").click().run()
    assert not page.exception
    assert not page.error
    assert any(f"Corrected {retired} (date)" in s.value for s in page.success)
    assert "one set of capacitors" in said(page)
    assert reports(demo_store, "S-010") == before

    page.button(key="amend_undo").click().run()
    assert not page.exception
    assert "contradict each other" in page.error[0].value
    assert any("Undone" in s.value for s in page.success)


def test_a_report_is_taken_back(machine, demo_store):
    page = machine("S-010", show_correct="True")
    record = reads_of(demo_store, "S-010").filter(kind="retired")["record"][0]
    page.selectbox(key="amend_record").set_value(record).run()
    page.button(key="amend_take_back").click().run()
    assert not page.exception
    assert record not in set(reads_of(demo_store, "S-010")["record"])
    assert "taken back, counts no more" in said(page)


def test_the_details_of_the_machine_are_corrected(machine, demo_store):
    page = machine("S-075", show_correct="True")
    own = known_records(demo_store, ("units",), as_of=None)["units"].filter(unit="S-075")
    record = own["record"][0]
    page.selectbox(key="amend_record").set_value(record).run()
    assert not any(b.key == "amend_take_back" for b in page.button)
    page.text_input(key=f"amend_{record}_manufactured").set_value("2011-05").run()
    page.button(key="amend_save").click().run()
    assert not page.exception
    assert "manufactured: 2011 → 2011-05" in said(page)


def test_a_machine_nobody_knew_on_that_day_is_said(demo_store, open_view):
    page = open_view("units", unit="S-075", as_of="2012-01-01")
    assert not page.exception
    assert "as known on 2012-01-01" in page.error[0].value


def test_a_machine_past_its_date_says_since_when(machine, demo_store):
    row = due(demo_store, as_of=date.fromisoformat(AT)).frame.row(0, named=True)
    assert row["overdue_days"] > 365
    page = machine(row["unit"])
    assert not page.exception
    assert f"**Recap now**, due since {words.day(day_reached(row))}" in said(page)
    marks = page.get("vega_lite_chart")[0].proto.spec
    assert '"due"' in marks  # in the legend of the drawing


def test_who_did_what_is_in_a_fold(machine, demo_store):
    told = reads_of(demo_store, "S-075").filter(kind="working")["record"][0]
    amend_record(demo_store, told, {"notes": "it hums"}, today=date.fromisoformat(AT), by="Wilf")
    assert "Who did what" in [box.label for box in machine("S-075").expander]
    page = machine("S-075", show_trail="True")
    assert not page.exception
    table = next(f.value for f in page.dataframe if "Who" in f.value.columns)
    assert tuple(table[["Who", "Did", "What"]].iloc[0]) == ("Wilf", "corrected", "reports")
    assert len(table) > 1
    earlier = machine("S-075", show_trail="True", as_of="2026-06-29")
    assert "Nothing was written of it by 29 June 2026." in said(earlier)


def test_photos_of_its_reports_are_shown(machine, demo_store):
    assert "Photos" not in said(machine("S-075"))
    report = reads_of(demo_store, "S-075").filter(kind="working")["record"][0]
    file = BytesIO()
    Image.new("RGB", (40, 30), "gray").save(file, "JPEG")
    keep_photo(demo_store, report, file.getvalue(), "board.jpg", date(2026, 6, 30), "Pim")
    page = machine("S-075")
    assert not page.exception
    assert "Photos" in said(page)
    assert len(page.get("image")) == 1


def test_a_reader_is_offered_no_logging_and_no_private_notes(machine, demo_store, monkeypatch):
    write_private_notes(
        demo_store, "S-075", "the key is under the pot", Person(name="Pim", role="log"),
        today=date(2026, 6, 30),
    )  # fmt: skip
    mine = machine("S-075")
    assert "the key is under the pot" in [area.value for area in mine.text_area]
    monkeypatch.setattr(access, "person", lambda: Person(name="Rosa", role="read"))
    page = machine("S-075")
    assert not page.exception
    assert not page.text_area
    assert not any("log" in link.proto.page.lower() for link in page.get("page_link"))
    assert "the key is under the pot" not in said(page)


@pytest.mark.parametrize(
    ("kind", "says"),
    [("working", "one set of capacitors"), ("failed", "log what became of it")],
)
def test_a_store_of_one_machine(small_store, open_view, kind, says):
    small_store([("U1", "M", kind, "2019-01-01")])
    page = open_view("units", unit="U1", as_of="2020-02-01")
    assert not page.exception
    assert not page.error
    assert says in said(page)
    assert not re.search(r"\b(inf|nan|None|null)\b", said(page))


def reads_of(store, unit):
    return known_records(store, ("reports",), as_of=None)["reports"].filter(unit=unit)


def reports(store, unit):
    return reads_of(store, unit).height
