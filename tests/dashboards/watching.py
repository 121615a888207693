"""Pages in a real browser: opened, waited for, and what went wrong in them kept."""

import os
import re
from dataclasses import dataclass
from pathlib import Path

import accessible

PATIENCE = 120_000  # ms; two cores shared with the server and Chromium
# What pages are looked at in: a desk by day and by night, and a phone held upright.
LOOKS = {"light": (1280, 900), "dark": (1280, 900), "phone": (390, 844)}
_MAIN = "[data-testid='stMain']"
_TALLEST = 16_000  # px; Chromium draws no picture much taller
# Streamlit asks below the page's own path for these before it finds its server.
_STREAMLIT_PROBES = re.compile(r"/_stcore/(health|host-config)$")


class Watched:
    """A browser page, with what went wrong in it and which addresses it asked for."""

    def __init__(self, page, address):
        self.page, self.address = page, address
        self.faults, self.asked = [], []
        page.set_default_timeout(PATIENCE)
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("response", self._answered)
        page.on("console", self._said)

    def _answered(self, response):
        if response.status >= 400 and not _STREAMLIT_PROBES.search(response.url):
            self.faults.append(f"{response.status} {response.url}")

    def _said(self, message):
        # A failed load is judged by its answer above, which names the address.
        if message.type == "error" and "Failed to load resource" not in message.text:
            self.faults.append(message.text)

    def open(self, path):
        self.page.goto(f"{self.address}/{path}")
        self.settle()

    def settle(self):
        """Wait until the page has been drawn and no run of it is under way."""
        self.page.wait_for_selector("h1")
        self.page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")
        for unfinished in ("[data-stale='true']", "[data-testid='stSkeleton']"):
            self.page.locator(unfinished).first.wait_for(state="detached")

    def says(self, text):
        self.page.get_by_text(text).first.wait_for()
        return self.page.get_by_text(text).first

    def go(self, group, title):
        """To another page, through the menu of its group."""
        self.page.get_by_role("button", name=group).click()
        self.page.get_by_role("menuitem", name=title, exact=True).click()

    def fill(self, label, text):
        field = self.page.get_by_label(label, exact=True)
        field.fill(text)
        field.press("Enter")
        self.settle()

    def asked_elsewhere(self):
        """Addresses asked for that are not this server's own."""
        own = (self.address, self.address.replace("http", "ws", 1), "data:", "blob:")
        return [url for url in self.asked if not url.startswith(own)]


def new_context(browser, look):
    """A browser context of a look, without moving parts."""
    width, height = LOOKS[look]
    return browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if look == "dark" else "light",
        reduced_motion="reduce",
    )


@dataclass(frozen=True)
class Visit:
    """What a page looked like when it was opened, and what went wrong meanwhile."""

    title: str
    text: str  # of the page itself, without the menu
    exceptions: int
    offers_to_deploy: int
    faults: list[str]
    asked_elsewhere: list[str]
    width: int  # what its content takes, in CSS pixels
    findings: list[accessible.Finding]


def visit(watched, path, look):
    """Open a page and look it over; its picture goes to FLEET_SCREENSHOTS, where that is set."""
    watched.open(path)
    page = watched.page
    visited = Visit(
        title=page.locator("h1").inner_text(),
        text=page.inner_text(_MAIN),
        exceptions=page.locator("[data-testid='stException']").count(),
        offers_to_deploy=page.get_by_text("Deploy", exact=True).count(),
        faults=watched.faults,
        asked_elsewhere=watched.asked_elsewhere(),
        width=page.locator(_MAIN).evaluate("main => main.scrollWidth"),
        findings=accessible.findings(page),
    )
    if "FLEET_SCREENSHOTS" in os.environ:
        take_picture(
            page, Path(os.environ["FLEET_SCREENSHOTS"]), f"{file_name(visited.title)}-{look}"
        )
    return visited


def file_name(title):
    """A page's title as part of a file's name."""
    return re.sub(r"\W+", "-", title.lower()).strip("-")


def take_picture(page, folder, name):
    """A picture of a whole page, however far it scrolls; returns its file."""
    folder.mkdir(parents=True, exist_ok=True)
    width = page.viewport_size["width"]
    tall = page.locator(_MAIN).evaluate("main => main.scrollHeight")
    page.set_viewport_size({"width": width, "height": min(tall + 20, _TALLEST)})
    page.wait_for_timeout(1_000)  # charts are drawn anew at the new size
    file = folder / f"{name}.png"
    page.screenshot(path=file)
    return file
