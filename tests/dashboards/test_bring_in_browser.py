"""A file with bad rows brought in and taken back, in real Chromium."""

import re

import pytest

from fleet.flow.importing import list_imports
from fleet.flow.known import known_records

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_PATIENCE = 60_000  # ms
ROWS = """Machine,When,What,Comments,Shelf
U-007,2026-07-04,working,tried at the evening,A1
ZZ-99,2026-07-05,working,,A3
S-075,14/07/2026,failed,does not heat,A4
"""


@pytest.fixture(params=[(1280, 900), (390, 844)], ids=["desk", "phone"])
def page(request, browser, server):
    width, height = request.param
    context = browser.new_context(viewport={"width": width, "height": height})
    page = context.new_page()
    page.set_default_timeout(_PATIENCE)
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.goto(f"{server}/bring_in")
    settle(page)
    yield page
    context.close()


def settle(page):
    page.wait_for_selector("h1")
    page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")
    page.locator("[data-stale='true']").first.wait_for(state="detached")


def says(page, text):
    found = page.get_by_text(re.compile(text)).first
    found.wait_for()
    settle(page)
    return found


def test_a_file_with_bad_rows_is_looked_at_brought_in_and_taken_back(page, demo_store, tmp_path):
    file = tmp_path / "rows.csv"
    file.write_text(ROWS)
    reports = count(demo_store)
    page.locator("input[type=file]").set_input_files(file)
    says(page, "Of 3 rows, 1 would be kept, 0 are known already, and 2 would be refused")
    says(page, "line 3: no unit is called ZZ-99")
    says(page, "line 4: date '14/07/2026' has the year last")
    assert list_imports(demo_store).height == 1  # the demo's own: looking writes nothing
    with page.expect_download() as download:
        page.get_by_role("button", name="Refused rows (CSV)").click()
    assert download.value.path().read_text().count("rows.csv") == 2

    page.get_by_label("Who brings it in").fill("JB")
    page.get_by_label("Who brings it in").press("Enter")
    settle(page)
    page.get_by_role("button", name="Bring in 1 new row").click()
    says(page, r"Brought in as i-0002\. Of 3 rows, 1 were kept")
    assert count(demo_store) == reports + 1
    wide = page.evaluate("() => document.querySelector('[data-testid=stMain]').scrollWidth")
    assert wide <= page.viewport_size["width"]

    page.get_by_role("button", name="Take i-0002 back").click()
    says(page, "Took 1 record of i-0002 back: it counts no more")
    assert count(demo_store) == reports
    assert page.faults == []


def test_a_foreign_column_is_chosen_by_hand(page, demo_store, tmp_path):
    file = tmp_path / "rows.csv"
    file.write_text(ROWS.replace("When", "Zeitpunkt"))
    page.locator("input[type=file]").set_input_files(file)
    says(page, "Say what these rows are")
    open_list(page, "What the rows of rows.csv are")
    page.get_by_role("option", name=re.compile("^reports: ")).click()
    says(page, "No column is the date, which is needed")
    open_list(page, "“Zeitpunkt” is")
    page.get_by_role("option", name=re.compile(r"^date \(needed\)")).click()
    says(page, "Of 3 rows, 1 would be kept")
    assert page.faults == []


def open_list(page, name):
    """Open a list to choose from. One that opens while the page still scrolls closes again, so it
    is brought into view first, which a phone's short screen needs.
    """
    box = page.get_by_role("combobox", name=name)
    box.scroll_into_view_if_needed()
    page.wait_for_timeout(1_500)
    box.click()


def count(store):
    return known_records(store, ("reports",), as_of=None)["reports"].height
