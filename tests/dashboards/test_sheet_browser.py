"""The bench sheet in real Chromium: on paper, on a phone, and on its page."""

import re
from pathlib import Path

import pytest
import shared

from fleet.flow.bench_sheet import bench_sheet
from fleet.flow.demo import suggested_as_of
from fleet.sheets.bench_sheet import bench_sheet_page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_PATIENCE = 60_000  # ms
# ISO 216 and ANSI, in points of 1/72 inch.
PAPERS = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}


@pytest.fixture(scope="module")
def sheet_file(built_demo, tmp_path_factory):
    """The sheet of a model as a file: it has every section but a history."""
    sheet = bench_sheet(built_demo, as_of=suggested_as_of(built_demo), model="WQ18")
    path = tmp_path_factory.mktemp("sheet") / "sheet-WQ18.html"
    path.write_text(bench_sheet_page(sheet), encoding="utf-8")
    return path


@pytest.fixture
def open_sheet(browser, sheet_file):
    """A function that opens the file in a window of a width; and the addresses asked for."""
    contexts, asked = [], []

    def opened(width=1100):
        context = browser.new_context(viewport={"width": width, "height": 900})
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto(sheet_file.as_uri())
        return page

    yield opened, asked
    for context in contexts:
        context.close()


@pytest.mark.parametrize("paper", PAPERS)
def test_it_prints_whole_on_either_paper(open_sheet, tmp_path, paper):
    opened, _ = open_sheet
    page = opened()
    file = tmp_path / f"{paper}.pdf"
    page.pdf(path=file, format=paper, prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", file.read_bytes())
    assert 4 <= len(boxes) <= 12
    for box in boxes:
        assert tuple(map(float, box)) == pytest.approx(PAPERS[paper], abs=1.5)


def test_print_keeps_places_whole_and_repeats_the_caution(open_sheet):
    opened, _ = open_sheet
    page = opened()
    page.emulate_media(media="print")
    looks = page.evaluate(
        """() => ({
            places: [...document.querySelectorAll('.place')].map(
                p => [getComputedStyle(p).breakInside, p.getBoundingClientRect().height]),
            head: getComputedStyle(document.querySelector('.paper > thead')).display,
            button: getComputedStyle(document.querySelector('button')).display,
            colours: [getComputedStyle(document.body).color,
                      getComputedStyle(document.body).backgroundColor],
        })"""
    )
    assert looks["head"] == "table-header-group"  # what browsers repeat on every page
    assert looks["button"] == "none"
    assert looks["colours"] == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    assert len(looks["places"]) == 7
    # Letter is 11 inches of 96 CSS pixels high; a place that is not higher can be kept whole.
    assert all(how == "avoid" and height < 900 for how, height in looks["places"])


def test_it_fits_a_phone_and_asks_nobody(open_sheet):
    opened, asked = open_sheet
    page = opened(390)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert [url for url in asked if not url.startswith("file:")] == []


def test_the_page_shows_the_sheet_keeps_a_step_and_gives_the_file(browser, server, working_unit):
    name, _ = working_unit
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.set_default_timeout(_PATIENCE)
    page.goto(f"{server}/sheet?unit={name}&as_of={shared.today()}")
    frame = page.frame_locator("iframe[title*='Bench sheet'], [data-testid='stIFrame']")
    frame.get_by_role("heading", name=f"Bench sheet: {name}").wait_for()
    page.get_by_label("The step, or what the machine does").fill("the left clip breaks: warm it")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("Kept: the left clip breaks").first.wait_for()
    frame.get_by_text("the left clip breaks: warm it").wait_for()
    with page.expect_download() as download:
        page.get_by_role("button", name="Download the sheet (HTML)").click()
    assert download.value.suggested_filename == f"sheet-{name}.html"
    assert "the left clip breaks" in Path(download.value.path()).read_text(encoding="utf-8")
    page.get_by_role("button", name="Take the step back").click()
    page.get_by_text("Taken back: the step is printed no more").first.wait_for()
    frame.get_by_text("the left clip breaks: warm it").wait_for(state="detached")
    page.get_by_role("link", name="Log the result").click()
    page.wait_for_url(re.compile(rf"/log\?.*unit={name}"))  # the machine comes along
    assert faults == []
    context.close()
