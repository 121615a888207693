"""A dashboard's server and a browser, as `pages.py` measures them."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

__all__ = ["Browser", "Server", "browser", "draw", "save_and_see", "serve"]

_CHROMIUM = "/usr/bin/chromium"
_ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """Where it answers, and its process."""

    address: str
    pid: int

    def processor(self) -> float:
        """Seconds of processor it used so far."""
        fields = (
            Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        )
        return (int(fields[11]) + int(fields[12])) / _TICKS


@contextmanager
def serve(script: Path, folder: Path) -> Iterator[Server]:
    """Streamlit serving one script on a free port of this machine."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    options = {
        "server.address": "127.0.0.1", "server.port": port, "server.headless": "true",
        "server.fileWatcherType": "none", "browser.gatherUsageStats": "false",
    }  # fmt: skip
    told = [f"--{name}={value}" for name, value in options.items()]
    root = str(Path(__file__).resolve().parents[2])
    process = subprocess.Popen(
        [sys.executable, "-m", "streamlit", "run", str(script), *told],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.environ.get("PYTHONPATH", root)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        _wait(address, process)
        yield Server(address=address, pid=process.pid)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=60)


@contextmanager
def browser() -> Iterator[Browser]:
    """Chromium without a window."""
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=_CHROMIUM, args=_ARGUMENTS)
        yield found
        found.close()


def draw(
    chromium: Browser, server: str, address: str, patience: int, *, whole: bool = False
) -> tuple[float, int]:
    """Seconds until a page is drawn in a browser that knows nothing yet of it, and bytes of it;
    `whole`: until nothing on it is waited for.
    """
    page = chromium.new_page()
    page.set_default_timeout(1000 * patience)
    sent = [0]

    def count(payload: str | bytes) -> None:
        sent[0] += len(payload)

    page.on("websocket", lambda socket: socket.on("framereceived", count))
    began = time.perf_counter()
    page.goto(f"{server}/{address}")
    settle(page)
    if whole:
        for waiting in page.locator("[class*='st-key-reckoning_']").all():
            waiting.wait_for(state="detached")
        settle(page)
    took = time.perf_counter() - began
    page.close()
    return took, sent[0]


def settle(page: Page) -> None:
    """Wait until no run is under way and nothing drawn is of the run before."""
    page.wait_for_selector("h1")
    page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")
    for unfinished in ("[data-stale='true']", "[data-testid='stSkeleton']"):
        page.locator(unfinished).first.wait_for(state="detached")


def save_and_see(
    chromium: Browser, server: Server, unit: str, patience: int = 120
) -> tuple[float, float]:
    """Seconds from the click that saves a report to the page with its record being drawn, and of
    the server's processor.
    """
    page = chromium.new_page()
    page.set_default_timeout(1000 * patience)
    page.goto(f"{server.address}/log?unit={unit}&log_kind=working")
    settle(page)
    save = page.get_by_role("button", name="Save the report")
    save.wait_for()
    settle(page)
    began, before = time.perf_counter(), server.processor()
    save.click()
    told = page.get_by_text(re.compile("^Recorded: "))
    told.wait_for()
    settle(page)
    took = time.perf_counter() - began
    page.close()
    return took, server.processor() - before


def _wait(address: str, process: "subprocess.Popen[bytes]", seconds: int = 120) -> None:
    for _ in range(seconds * 5):
        if process.poll() is not None:
            raise SystemExit(f"the server ended with code {process.returncode}")
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2) as answer:
                if answer.status == 200:
                    return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    raise SystemExit(f"the server did not answer within {seconds} s")
