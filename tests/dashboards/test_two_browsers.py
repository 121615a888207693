"""Two people at the same machine, each in a browser of their own: nobody overwrites the other."""

import re
from datetime import timedelta

import pytest
import shared

from fleet.flow.known import known_records

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_PATIENCE = 60_000  # ms


class Person:
    """Somebody at a browser of their own."""

    def __init__(self, browser, address, name):
        self.context = browser.new_context(viewport={"width": 390, "height": 844})
        self.page, self.address, self.name = self.context.new_page(), address, name
        self.page.set_default_timeout(_PATIENCE)
        self.faults = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))

    def open(self, path):
        self.page.goto(f"{self.address}/{path}")
        self.page.wait_for_selector("h1")
        self.settle()

    def settle(self):
        self.page.wait_for_timeout(400)  # typing is sent after 0.3 s
        self.page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")
        self.page.locator("[data-stale='true']").first.wait_for(state="detached")

    def fill(self, label, text):
        self.page.get_by_label(label, exact=True).first.fill(text)
        self.page.get_by_label(label, exact=True).first.press("Enter")
        self.settle()

    def press(self, name):
        self.page.get_by_role("button", name=name).first.click()
        self.settle()

    def fold(self, title):
        """A part of the page that folds away."""
        return self.page.get_by_test_id("stExpander").filter(has_text=title)

    def choose_to_correct(self, record):
        fold = self.fold("Correct the machine's details or a report")
        fold.locator("summary").click()
        # The list is there once the server has drawn what the fold holds.
        chooser = fold.get_by_role("combobox", name="What to correct")
        chooser.wait_for()
        self.settle()
        chooser.scroll_into_view_if_needed()
        chooser.fill(record)
        self.page.get_by_role("option", name=re.compile(record)).first.click()
        fold.get_by_label("Symptom", exact=True).wait_for()
        self.settle()

    def says(self, text):
        found = self.page.get_by_text(re.compile(text)).first
        found.wait_for()
        return found

    def table(self):
        """The cells of the two versions side by side, by row."""
        self.settle()
        rows = self.page.locator("[data-testid='stTable'] tr").all()
        return {cells[0]: cells[1:] for row in rows[1:] if (cells := _cells(row))}


def _cells(row):
    return [cell.inner_text().strip() for cell in row.locator("th, td").all()]


@pytest.fixture
def people(browser, server):
    both = [Person(browser, server, name) for name in ("Ada", "Bo")]
    yield both
    faults = [person.faults for person in both]
    for person in both:
        person.context.close()
    assert faults == [[], []]


def reports(store, unit):
    return known_records(store, ("reports",), as_of=None, unit=unit)["reports"]


def test_the_second_to_report_sees_what_the_first_saved(people, demo_store, working_unit):
    unit = working_unit[0]
    before = reports(demo_store, unit).height
    ada, bo = people
    for person in people:
        person.open(f"log?unit={unit}&log_kind=failed")
        person.fill("Who reports it", person.name)
    ada.page.get_by_role("radio", name="not known").click()
    bo.page.get_by_role("radio", name="a capacitor").click()
    bo.fill("Symptom", "no display")
    ada.fill("Symptom", "hums")
    ada.press("Save the report")
    ada.says(f"Recorded: {unit}")

    bo.press("Save the report")
    bo.says("Nothing is saved yet: While this was typed")
    shown = bo.table()
    assert shown["By"] == ["Bo", "Ada"]
    assert shown["Symptom"] == ["no display", "hums"]
    assert shown["Cause"][0] == "a capacitor"
    assert reports(demo_store, unit).height == before + 1
    assert bo.page.get_by_label("Symptom", exact=True).input_value() == "no display"

    bo.press("Save mine as well")
    bo.says(f"Recorded: {unit}")
    assert reports(demo_store, unit).height == before + 2
    assert {"Ada", "Bo"} <= set(reports(demo_store, unit)["by"])


def test_the_second_may_leave_theirs_out(people, demo_store, working_unit):
    unit = working_unit[0]
    ada, bo = people
    for person in people:
        person.open(f"log?unit={unit}&log_kind=failed")
        person.fill("Symptom", person.name)
        person.page.get_by_role("radio", name="not known").click()
    ada.press("Save the report")
    ada.says(f"Recorded: {unit}")
    bo.press("Save the report")
    bo.says("Nothing is saved yet")
    bo.press("Leave mine out")
    bo.page.get_by_text("Nothing is saved yet").first.wait_for(state="detached")
    assert "Bo" not in set(reports(demo_store, unit)["symptom"])
    assert bo.page.get_by_label("Symptom", exact=True).input_value() == ""


def test_two_corrections_of_one_report(people, demo_store, working_unit):
    from fleet.flow.entering import log_reports

    unit = working_unit[0]
    day = shared.today() - timedelta(days=3)
    made = log_reports(
        demo_store, "failed", [unit], {"date": str(day), "symptom": "dead"},
        today=shared.today(), by="Cy",
    ).records[0]  # fmt: skip
    ada, bo = people
    for person in people:
        person.open(f"units?unit={unit}&as_of={shared.today()}")
        person.choose_to_correct(made)
        person.fill("Who corrects it", person.name)
    ada.fill("Symptom", "dark")
    ada.press("Save the correction")
    ada.says(f"Corrected {made}")
    bo.fill("Positions (joined by ;)", "C3")
    bo.says("was corrected meanwhile by")
    shown = bo.table()
    assert shown["Symptom"] == ["dead", "dark", "dead"]
    assert shown["Positions"] == ["", "", "C3"]
    now = reports(demo_store, unit).filter(by="Ada")
    assert now["symptom"].to_list() == ["dark"]
    bo.press("Make my changes to theirs")
    bo.says("Corrected")
    settled = reports(demo_store, unit).filter(by="Bo")
    assert settled.select("symptom", "positions").row(0) == ("dark", "C3")
    assert not reports(demo_store, unit)["record"].is_in([made]).any()


def test_the_second_may_correct_what_the_first_saved(people, demo_store, working_unit):
    unit = working_unit[0]
    before = reports(demo_store, unit)
    ada, bo = people
    for person in people:
        person.open(f"log?unit={unit}&log_kind=failed")
        person.fill("Who reports it", person.name)
        person.page.get_by_role("radio", name="not known").click()
        person.fill("Symptom", f"seen by {person.name}")
    ada.press("Save the report")
    ada.says(f"Recorded: {unit}")
    bo.press("Save the report")
    bo.says("Nothing is saved yet: While this was typed")

    bo.press("Correct theirs")
    # The fields of their record stand below those of the form.
    theirs = bo.page.get_by_label("Symptom", exact=True).last
    assert theirs.input_value() == "seen by Ada"
    theirs.fill("hums, and no display")
    theirs.press("Enter")
    bo.settle()
    bo.fill("Who corrects it", "Bo")
    bo.press("Save the correction")
    bo.page.get_by_text("Nothing is saved yet").first.wait_for(state="detached")
    bo.settle()

    now = reports(demo_store, unit)
    assert now.height == before.height + 1  # one report, corrected; Bo's own is still typed
    corrected = now.filter(symptom="hums, and no display")
    assert corrected["by"].to_list() == ["Bo"]
    assert "seen by Ada" not in set(now["symptom"])
    assert bo.page.get_by_label("Symptom", exact=True).input_value() == "seen by Bo"
