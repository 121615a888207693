"""Start the dashboard as a process of its own, reachable from this machine only."""

import importlib.util
import os
import signal
import socket
import subprocess
import sys
import time
import webbrowser
from pathlib import Path
from threading import Thread

from fleet.cli.words import say
from fleet.errors import BadInput

HOST = "127.0.0.1"
_PORTS_TRIED = 50


def free_port(wanted: int) -> int:
    """`wanted`, or the next port above it that nothing listens on. BadInput when none is free."""
    for port in range(wanted, min(wanted + _PORTS_TRIED, 65536)):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if os.name != "nt":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
        return port
    raise BadInput(f"no port from {wanted} on is free; give another one with --port")


def server_command(app: Path, *, port: int) -> list[str]:
    """The command line that serves `app` on this machine only.

    Always headless, so that the page library adds no suggestions of its own to our pages; the
    browser is opened by us.
    """
    return [
        *(sys.executable, "-m", "streamlit", "run", str(app)),
        *("--server.address", HOST),
        *("--server.port", str(port)),
        *("--server.headless", "true"),
        *("--browser.serverAddress", HOST),
        *("--browser.gatherUsageStats", "false"),
    ]


def serve(store: Path, *, port: int, browser: bool) -> None:
    """Serve the dashboard of `store` until it is stopped with Ctrl-C."""
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
        environment={**os.environ, "FLEET_STORE": str(store.resolve())},
        folder=folder,
        port=chosen if browser else None,
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
