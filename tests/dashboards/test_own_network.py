"""A group's dashboard at a real address of this machine on a network: who reaches it, and by which
name. Skipped where the machine has no private address but its own loopback.
"""

import http.client
import ipaddress
import os
import secrets
import signal
import socket
import subprocess
import sys

import pytest
import serving


def own_address():
    """A private IPv4 address of this machine that is not loopback, or None."""
    found = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # nothing is sent: only the way out is asked for
            found.add(probe.getsockname()[0])
        except OSError:
            pass
    fit = [one for one in sorted(found) if _fits(ipaddress.ip_address(one))]
    return fit[0] if fit else None


def _fits(address):
    return address.is_private and not address.is_loopback and not address.is_unspecified


@pytest.fixture
def group_at(demo_store, tmp_path):
    """Address and port of a group's dashboard on this machine's own network."""
    address = own_address()
    if address is None:
        pytest.skip("this machine has no private address beside loopback")
    port = serving.free_port()
    file = tmp_path / "group.toml"
    file.write_text(
        f"""[auth]
redirect_uri = "http://{address}:{port}/oauth2callback"
cookie_secret = "{secrets.token_hex(32)}"
client_id = "fleet"
client_secret = "anything"
server_metadata_url = "http://{address}:9/.well-known/openid-configuration"

[network]
address = "{address}"
port = {port}

[people]
"odile@example.org" = "manage"
"""
    )
    process = subprocess.Popen(
        [sys.executable, "-m", "fleet", "dashboard", "--group", str(file),
         "--store", str(demo_store)],
        cwd=serving.REPOSITORY,
        env={**os.environ, "PYTHONPATH": str(serving.REPOSITORY), "FLEET_WARM": ""},
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    try:
        serving.wait_until_up(f"http://{address}:{port}", process)
        yield address, port
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        process.wait(timeout=20)


def _asks(address, port, path="/_stcore/health", **headers):
    asked = http.client.HTTPConnection(address, port, timeout=20)
    try:
        asked.request("GET", path, headers={k.replace("_", "-"): v for k, v in headers.items()})
        return asked.getresponse().status
    finally:
        asked.close()


def _opens(address, port, host, origin):
    """The answer to opening the connection that pages are drawn through."""
    return _asks(
        address, port, "/_stcore/stream",
        Host=host, Origin=origin, Connection="Upgrade", Upgrade="websocket",
        Sec_WebSocket_Version="13", Sec_WebSocket_Key="dGhlIHNhbXBsZSBub25jZQ==",
    )  # fmt: skip


def test_it_answers_at_its_address_and_to_no_other_name(group_at):
    address, port = group_at
    own = f"{address}:{port}"
    assert _asks(address, port) == 200
    assert _opens(address, port, own, f"http://{own}") == 101
    # a page elsewhere in somebody's browser, and a name that was pointed at this address
    assert _opens(address, port, own, "http://elsewhere.example") != 101
    strange = f"elsewhere.example:{port}"
    assert _opens(address, port, strange, f"http://{strange}") != 101
    with pytest.raises(ConnectionRefusedError):
        _asks("127.0.0.1", port)
