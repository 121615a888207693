"""A shared dashboard in real Chromium, with a local provider of identities."""

import importlib.util
import json
import os
import re
import secrets
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from fleet.flow.known import known_records

REPOSITORY = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.browser

WAIT = 60_000
PEOPLE = {"odile@example.org": "manage", "pim@example.org": "log", "joren@example.org": "read"}


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def provider():
    """Address of a provider that knows the group's people, a stranger, and somebody unverified."""
    if importlib.util.find_spec("oidc_provider_mock") is None:
        pytest.skip("oidc-provider-mock is not installed")
    known = [(name, name, True) for name in (*PEOPLE, "stranger@example.org")]
    known.append(("somebody else", "odile@example.org", False))
    users = [
        f"--user-claims={json.dumps({'sub': sub, 'email': address, 'email_verified': verified})}"
        for sub, address, verified in known
    ]
    port = _free_port()
    # a process of its own: it knows no test's settings, and its threads end with it
    process = subprocess.Popen(
        [sys.executable, "-m", "oidc_provider_mock", "--port", str(port), *users],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_for(f"http://127.0.0.1:{port}/.well-known/openid-configuration")
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(timeout=20)


def _wait_for(address, seconds=60):
    for _ in range(seconds * 5):
        try:
            with urllib.request.urlopen(address, timeout=2):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    pytest.fail(f"nothing answered at {address}")


@pytest.fixture
def group_server(demo_store, provider, wait_for_server, tmp_path):
    """Address of a dashboard shared with a group, and its file."""
    port = _free_port()
    people = "\n".join(f'"{name}" = "{role}"' for name, role in PEOPLE.items())
    file = tmp_path / "group.toml"
    file.write_text(
        f"""[auth]
redirect_uri = "http://127.0.0.1:{port}/oauth2callback"
cookie_secret = "{secrets.token_hex(32)}"
client_id = "fleet"
client_secret = "anything"
server_metadata_url = "{provider}/.well-known/openid-configuration"

[network]
address = "127.0.0.1"
port = {port}

[people]
{people}
"""
    )
    command = [sys.executable, "-m", "fleet", "dashboard", "--group", str(file)]
    process = subprocess.Popen(
        [*command, "--store", str(demo_store)],
        cwd=REPOSITORY,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY), "FLEET_WARM": ""},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        wait_for_server(f"http://127.0.0.1:{port}", process)
        yield f"http://127.0.0.1:{port}", file
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        process.wait(timeout=20)


@pytest.fixture
def sign_in(browser, group_server):
    """A function that signs somebody in, in a browser of their own, and gives the page."""
    contexts = []

    def signed_in(name, path=""):
        context = browser.new_context()
        contexts.append(context)
        page = context.new_page()
        page.goto(f"{group_server[0]}/{path}")
        page.get_by_role("button", name="Sign in").click(timeout=WAIT)
        page.get_by_role("button", name=name, exact=True).click(timeout=WAIT)
        page.wait_for_url(f"{group_server[0]}/**", timeout=WAIT)
        return page

    yield signed_in
    for context in contexts:
        context.close()


def test_nothing_is_shown_before_sign_in(browser, group_server):
    page = browser.new_page()
    page.goto(f"{group_server[0]}/log")
    page.get_by_role("button", name="Sign in").wait_for(timeout=WAIT)
    assert "S-001" not in page.content()
    assert page.get_by_role("button", name="What the reports say").count() == 0
    page.close()


@pytest.mark.parametrize("name", ["stranger@example.org", "somebody else"])
def test_nobody_has_a_role_by_default(sign_in, name):
    """A stranger, and somebody whose provider has not verified the address that is claimed."""
    page = sign_in(name)
    page.get_by_text("nobody has given that account a role").wait_for(timeout=WAIT)
    assert page.get_by_role("button", name="What the reports say").count() == 0


def test_readers_read_and_have_no_page_to_log_on(sign_in):
    page = sign_in("joren@example.org")
    page.get_by_role("heading", name="Today").wait_for(timeout=WAIT)
    page.get_by_role("button", name="At the bench").click(timeout=WAIT)
    page.get_by_role("menuitem", name="Bench sheet").wait_for(timeout=WAIT)
    assert page.get_by_role("menuitem", name="Log a report").count() == 0
    assert page.get_by_role("menuitem", name="Bring in data").count() == 0


def test_who_logs_is_in_the_record_under_the_name_signed_in(sign_in, demo_store, working_unit):
    unit, _ = working_unit
    page = sign_in("pim@example.org")
    page.get_by_role("heading", name="Today").wait_for(timeout=WAIT)
    page.goto(page.url.split("?")[0].rstrip("/") + f"/log?unit={unit}&log_kind=working")
    page.get_by_text("Kept under the name you are signed in with").wait_for(timeout=WAIT)
    page.get_by_role("button", name="Save the report").click(timeout=WAIT)
    page.get_by_text("Recorded:").first.wait_for(timeout=WAIT)
    reports = known_records(demo_store, ("reports",), as_of=None)["reports"]
    assert reports.filter(by="pim@example.org")["unit"].to_list() == [unit]


def test_a_role_taken_away_is_gone_at_the_next_click(
    sign_in, group_server, demo_store, working_unit
):
    unit, _ = working_unit
    page = sign_in("pim@example.org")
    page.get_by_role("heading", name="Today").wait_for(timeout=WAIT)
    page.goto(page.url.split("?")[0].rstrip("/") + f"/log?unit={unit}&log_kind=working")
    button = page.get_by_role("button", name="Save the report")
    button.wait_for(timeout=WAIT)
    file = group_server[1]
    file.write_text(file.read_text().replace('"pim@example.org" = "log"', ""))
    button.click()
    page.get_by_text(re.compile("nobody has given|takes the role log")).first.wait_for(timeout=WAIT)
    reports = known_records(demo_store, ("reports",), as_of=None)["reports"]
    assert reports.filter(by="pim@example.org").is_empty()
