"""On a phone wide tables are told line by line: nothing of them is off to the right."""

import os
import re

import pytest
import watching

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AT = "2026-06-30"
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@pytest.fixture
def look_at(browser, read_server):
    """A function that opens a page in a look and gives its two forms of a table."""
    contexts = []

    def opened(path, look, name):
        contexts.append(watching.new_context(browser, look))
        watched = watching.Watched(contexts[-1].new_page(), read_server)
        watched.open(path)
        page = watched.page
        page.locator(f".st-key-narrow_{name}").wait_for(state="attached")
        watched.settle()
        if folder := os.environ.get("FLEET_SCREENSHOTS"):
            page.screenshot(path=f"{folder}/{name}-{look}.png", full_page=True)
        return page.locator(f".st-key-wide_{name}"), page.locator(f".st-key-narrow_{name}")

    yield opened
    for context in contexts:
        context.close()


@pytest.mark.parametrize(
    ("path", "name", "says"),
    [
        ("trail?trail_span=all", "trail", _DATE),
        (f"units?unit=S-075&as_of={AT}&show_trail=True", "unit_trail", _DATE),
        (f"plan?as_of={AT}", "order", re.compile(r"\d+ × .* each; .* together")),
    ],
)
def test_a_wide_table_is_lines_on_a_phone(look_at, path, name, says):
    wide, narrow = look_at(path, "phone", name)
    assert not wide.is_visible()
    lines = narrow.locator("li").all()
    assert lines
    for line in lines[:5]:
        assert says.search(line.inner_text())
        box = line.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= watching.LOOKS["phone"][0]
        assert line.evaluate("e => e.scrollWidth <= e.clientWidth")


def test_where_there_is_room_it_is_a_table(look_at):
    wide, narrow = look_at("trail?trail_span=all", "light", "trail")
    assert wide.get_by_test_id("stDataFrame").is_visible()
    assert not narrow.is_visible()
