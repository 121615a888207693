"""Start the dashboard as a process of its own: for this machine only, or for a signed-in group."""

import errno
import importlib.util
import os
import signal
import socket
import subprocess
import sys
import time
import webbrowser
from collections.abc import Sequence
from pathlib import Path
from threading import Thread

from fleet.cli.words import say
from fleet.errors import BadInput

HOST = "127.0.0.1"
_PORTS_TRIED = 50
_LARGEST_UPLOAD_MB = 50


def free_port(wanted: int, *, address: str = HOST) -> int:
    """`wanted`, or the next port above it that nothing listens on. BadInput when none is free, or
    when this machine has no such address.
    """
    for port in range(wanted, min(wanted + _PORTS_TRIED, 65536)):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if os.name != "nt":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((address, port))
            except OSError as error:
                if error.errno == errno.EADDRNOTAVAIL:
                    raise BadInput(
                        f"this machine has no address {address}; give one of its own under "
                        "[network]"
                    ) from error
                continue
        return port
    raise BadInput(f"no port from {wanted} on is free; give another one with --port")


def server_command(
    app: Path,
    *,
    port: int,
    address: str = HOST,
    secrets: Path | None = None,
    hosts: Sequence[str] = (),
) -> list[str]:
    """The command line that serves `app` at one address, this machine's own unless given.

    Always headless, so that the page library adds no suggestions of its own to our pages; the
    browser is opened by us. `secrets` holds what sign-in needs. `hosts`: names under which pages
    may be asked for, where that is not this machine alone.
    """
    return [
        *(sys.executable, "-m", "streamlit", "run", str(app)),
        *("--server.address", address),
        *("--server.port", str(port)),
        *("--server.headless", "true"),
        *("--server.maxUploadSize", str(_LARGEST_UPLOAD_MB)),
        *("--browser.serverAddress", address),
        *("--browser.gatherUsageStats", "false"),
        # a fault of ours shows its place to whoever keeps the server, not to everybody
        *("--client.showErrorDetails", "type" if secrets else "full"),
        *(("--secrets.files", str(secrets)) if secrets else ()),
        *(word for host in hosts for word in ("--server.allowedHosts", host)),
    ]


def serve(store: Path, *, port: int, browser: bool) -> None:
    """Serve the dashboard of `store` to this machine until it is stopped with Ctrl-C."""
    from fleet.flow.places import dashboards_folder

    if importlib.util.find_spec("streamlit") is None:
        raise BadInput("the dashboard needs streamlit, which is not installed; pip install it")
    folder = dashboards_folder()
    chosen = free_port(port)
    if chosen != port:
        say(f"Port {port} is taken; using {chosen}.")
    say(f"Dashboard of {store}: http://{HOST}:{chosen} (stop it with Ctrl-C)")
    code = _run(
        server_command(folder / "app.py", port=chosen),
        environment={
            **{name: text for name, text in os.environ.items() if name != "FLEET_GROUP"},
            "FLEET_STORE": str(store.resolve()),
            "FLEET_WARM": os.environ.get("FLEET_WARM", "yes"),  # set empty: nothing in advance
        },
        folder=folder,
        port=chosen if browser else None,
    )
    if code > 0:
        raise BadInput(f"the dashboard ended with code {code}; its words are above")


def serve_group(store: Path, group_file: Path, *, port: int) -> None:
    """Serve the dashboard of `store` on a group's network, to people its file gives a role.

    The port is fixed, as the sign-in comes back to it. Raises BadInput where the file lacks
    something, the port is taken, or what signs people in is not installed.
    """
    from fleet.flow.access import read_group
    from fleet.flow.places import dashboards_folder

    group = read_group(group_file)
    if importlib.util.find_spec("authlib") is None:
        raise BadInput("signing people in needs Authlib, which is not installed; pip install it")
    wanted = group.port or port
    if free_port(wanted, address=group.address) != wanted:
        raise BadInput(f"port {wanted} at {group.address} is taken; stop what uses it")
    say(f"Dashboard of {store} for the group: {group.redirect_uri.removesuffix('oauth2callback')}")
    say(f"{len(group.people)} people have a role. Stop it with Ctrl-C.")
    folder = dashboards_folder()
    secrets = group_file.resolve()
    code = _run(
        server_command(
            folder / "app.py",
            port=wanted,
            address=group.address,
            secrets=secrets,
            hosts=sorted({group.address, group.host}),
        ),
        environment={
            **os.environ,
            "FLEET_STORE": str(store.resolve()),
            "FLEET_WARM": os.environ.get("FLEET_WARM", "yes"),  # set empty: nothing in advance
            "FLEET_GROUP": str(secrets),
        },
        folder=folder,
        port=None,
    )
    if code > 0:
        raise BadInput(f"the dashboard ended with code {code}; its words are above")


def _open_when_ready(port: int, child: "subprocess.Popen[bytes]") -> None:
    """Open the browser once the server listens; give up when it has ended."""
    while child.poll() is None:
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if probe.connect_ex((HOST, port)) == 0:
                webbrowser.open(f"http://{HOST}:{port}")
                return
        time.sleep(0.2)


def _run(words: list[str], *, environment: dict[str, str], folder: Path, port: int | None) -> int:
    """Run until it ends; a request to end this process is passed on, so that none stays behind.

    `port`: where to send the browser; None for no browser.
    """
    with subprocess.Popen(words, env=environment, cwd=folder) as child:
        if port is not None:
            Thread(target=_open_when_ready, args=(port, child), daemon=True).start()
        before = signal.signal(signal.SIGTERM, lambda *_: child.terminate())
        try:
            return child.wait()
        finally:
            signal.signal(signal.SIGTERM, before)
