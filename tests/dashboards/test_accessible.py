"""Every page, opened by day, by night and on a phone: it works, fits, and bars nobody.

Who sees little, cannot see colours, or has no mouse or no large screen is at home here too. With
FLEET_SCREENSHOTS set to a folder, a picture of every page in each look goes there.
"""

import secrets

import accessible
import every_page
import pytest
import serving
import watching
from accessible import ALLOWED

from fleet.flow.known import known_records

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def ours(found):
    """Those findings that are not allowed, as text to read."""
    return [str(finding) for finding in found if finding.allowed is None]


@pytest.mark.parametrize("look", watching.LOOKS)
@pytest.mark.parametrize("path", every_page.ADDRESSES)
def test_every_page_opens_without_a_fault(visit, path, look):
    seen = visit(path, look)
    assert seen.title == every_page.ADDRESSES[path]
    assert "Invented data" in seen.text
    assert (seen.exceptions, seen.offers_to_deploy, seen.faults) == (0, 0, [])


@pytest.mark.parametrize("path", every_page.ADDRESSES)
def test_pages_ask_nobody_but_this_machine(visit, path):
    assert visit(path, "light").asked_elsewhere == []


@pytest.mark.parametrize("path", every_page.ADDRESSES)
def test_pages_fit_a_phone(visit, path):
    assert visit(path, "phone").width <= 390


@pytest.mark.parametrize("look", watching.LOOKS)
@pytest.mark.parametrize("path", every_page.ADDRESSES)
def test_every_page_has_no_grave_finding(visit, path, look):
    assert ours(visit(path, look).findings) == []


@pytest.mark.parametrize(
    ("entry", "look"), [(entry, look) for entry in ALLOWED for look in entry.looks]
)
def test_what_is_allowed_still_occurs(visit, entry, look):
    assert any(finding.allowed is entry for finding in visit("", look).findings)


def test_a_finding_is_told_with_its_rule_and_node(browser):
    page = browser.new_page()
    page.set_content(
        "<html lang=en><title>t</title><main><h1>Head</h1><h3>Too deep</h3>"
        "<p style='color:#aaa'>faint</p><input id=nameless></main>"
    )
    told = ours(accessible.findings(page))
    page.close()
    assert {line.split()[0] for line in told} == {"heading-order", "color-contrast", "label"}
    assert any("#nameless" in line for line in told)


def tab_to(page, name):
    """Press Tab until what is reached has this name; pytest.fail after a long way."""
    for _ in range(120):
        page.keyboard.press("Tab")
        reached = page.locator(":focus")
        if reached.count() and reached.and_(named(page, name)).count():
            return reached
    pytest.fail(f"no {name!r} is reached by Tab alone")


def named(page, name):
    """Whatever has a name to somebody who listens."""
    found = page.get_by_role("button", name=name, exact=True)
    for role in ("combobox", "radio", "textbox", "link"):
        found = found.or_(page.get_by_role(role, name=name, exact=True))
    return found


def test_a_report_is_saved_by_keyboard_alone(browser, server, demo_store, working_unit):
    unit, _ = working_unit
    context = browser.new_context()
    watched = watching.Watched(context.new_page(), server)
    watched.open("log")
    page = watched.page
    tab_to(page, "Machine")
    page.keyboard.type(unit)
    page.get_by_role("option", name=unit).first.wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    watched.settle()
    tab_to(page, "It failed")
    page.keyboard.press("Space")
    watched.settle()
    tab_to(page, "not known")
    page.keyboard.press("Space")
    watched.settle()
    tab_to(page, "Symptom")
    page.keyboard.type("no display")
    watched.settle()
    tab_to(page, f"Save the report on {unit}")
    page.keyboard.press("Enter")
    watched.says(f"Recorded: {unit}")
    context.close()
    reports = known_records(demo_store, ("reports",), as_of=None)["reports"]
    assert reports.filter(unit=unit, kind="failed", symptom="no display").height == 1


@pytest.fixture
def group_server(demo_store, tmp_path):
    """Address of a dashboard for a group; nobody signs in, so its provider is never asked."""
    port = serving.free_port()
    file = tmp_path / "group.toml"
    file.write_text(
        f"""[auth]
redirect_uri = "http://127.0.0.1:{port}/oauth2callback"
cookie_secret = "{secrets.token_hex(32)}"
client_id = "fleet"
client_secret = "anything"
server_metadata_url = "http://127.0.0.1:9/.well-known/openid-configuration"

[network]
address = "127.0.0.1"
port = {port}

[people]
"odile@example.org" = "manage"
"""
    )
    with serving.served("--store", demo_store, "--group", file, port=port) as address:
        yield address


def test_the_way_in_has_no_grave_finding(browser, group_server):
    for look in watching.LOOKS:
        context = watching.new_context(browser, look)
        watched = watching.Watched(context.new_page(), group_server)
        watched.open("")
        watched.page.get_by_role("button", name="Sign in").wait_for()
        found = ours(accessible.findings(watched.page))
        context.close()
        assert found == []
