"""A dashboard served as people serve it: by the command, in a process of its own."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]


def free_port():
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def served(*words, port=None):
    """Address of a dashboard started as `fleet dashboard` with `words`; ended afterwards."""
    port = port or free_port()
    command = [sys.executable, "-m", "fleet", "dashboard", "--port", str(port), "--no-browser"]
    process = subprocess.Popen(
        [*command, *map(str, words)],
        cwd=REPOSITORY,
        # The server's own process must find the package in a checkout that is not installed.
        env={**os.environ, "PYTHONPATH": str(REPOSITORY), "FLEET_WARM": ""},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        wait_until_up(address, process)
        yield address
    finally:
        # The command starts the server as a process of its own: end the group it leads.
        os.killpg(process.pid, signal.SIGTERM)
        process.wait(timeout=20)


def wait_until_up(address, process, seconds=60):
    """Wait until a server process answers at an address."""
    for _ in range(seconds * 5):
        if process.poll() is not None:
            pytest.fail(f"the dashboard ended at once with code {process.returncode}")
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2) as answer:
                if answer.status == 200:
                    return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    pytest.fail(f"the dashboard did not answer within {seconds} s")
