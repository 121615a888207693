"""What is typed on the page of reports is not lost: not to a reload, nor to a page still drawn."""

import json
import re

import pytest
import watching

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def phone(browser, read_server):
    """A page on a phone, watched; nothing is saved from it."""
    context = watching.new_context(browser, "phone")
    watched = watching.Watched(context.new_page(), read_server)
    yield watched
    context.close()
    assert watched.faults == []


def kept_by_the_tab(page):
    return json.loads(page.evaluate("sessionStorage.getItem('fleet-log-draft') || '{}'"))


def test_a_draft_outlives_a_reload(phone):
    page = phone.page
    phone.open("log?unit=S-075&log_kind=failed")
    phone.fill("Symptom", "hums, then no display")
    phone.fill("Date", "2024-07")
    page.get_by_role("radio", name="a capacitor").click()
    fold = page.get_by_test_id("stExpander").filter(has_text="More to say")
    fold.locator("summary").click()
    page.get_by_label("Notes", exact=True).fill("smelt of burnt dust")
    page.get_by_label("Notes", exact=True).blur()
    page.wait_for_function(
        "(sessionStorage.getItem('fleet-log-draft') || '').includes('burnt dust')"
    )
    assert kept_by_the_tab(page)["fields"]["symptom"] == "hums, then no display"

    page.goto(f"{phone.address}/log")  # the page anew, and nothing of the report in its address
    phone.says("What was typed before is here again.")
    phone.settle()
    assert "S-075" in page.get_by_role("combobox", name="Machine").input_value()
    assert page.get_by_label("Symptom", exact=True).input_value() == "hums, then no display"
    assert page.get_by_label("Date", exact=True).input_value() == "2024-07"
    assert page.get_by_label("Notes", exact=True).input_value() == "smelt of burnt dust"
    assert page.get_by_label("Notes", exact=True).is_visible()
    phone.says(re.compile("that is 1 to 31 July 2024"))

    page.get_by_role("button", name="Empty the form").click()
    page.get_by_text("What was typed before is here again.").wait_for(state="detached")
    phone.settle()
    page.reload()
    phone.settle()
    assert page.get_by_label("Symptom", exact=True).input_value() == ""


class Held:
    """What a server tells a page, kept back for a while, as where the page is slow to draw."""

    def __init__(self, page):
        self.kept, self.holding = [], False
        page.route_web_socket(re.compile("/_stcore/stream"), self._between)

    def _between(self, page_side):
        self._page_side, server_side = page_side, page_side.connect_to_server()
        page_side.on_message(server_side.send)
        server_side.on_message(self._told)

    def _told(self, message):
        if self.holding:
            self.kept.append(message)
        else:
            self._page_side.send(message)

    def let_go(self):
        self.holding = False
        for message in self.kept:
            self._page_side.send(message)


def test_a_date_typed_while_the_page_is_still_drawn_stays(phone):
    page = phone.page
    held = Held(page)
    phone.open("log?unit=S-075&log_kind=failed")
    date = page.get_by_label("Date", exact=True)
    held.holding = True
    for typed in ("2024-07", "2024-07-14"):  # the first is answered, and the answer is not there
        date.fill(typed)
        page.wait_for_timeout(3_000)
    assert held.kept
    held.let_go()
    phone.says(re.compile("that is 14 July 2024"))
    phone.settle()
    assert date.input_value() == "2024-07-14"
