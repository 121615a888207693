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


def test_on_a_phone_nothing_scrolls_sideways_and_a_thumb_can_tick(open_sheet):
    opened, _ = open_sheet
    page = opened(390)
    looks = page.evaluate(
        """() => {
            const seen = [...document.querySelectorAll('main *')].filter(e => e.offsetParent);
            const boxes = seen.filter(e => e.matches('input[type=checkbox]'));
            return {
                wide: seen.filter(e => e.scrollWidth > e.clientWidth + 1
                    && getComputedStyle(e).overflowX !== 'visible').length,
                right: Math.max(...seen.map(e => e.getBoundingClientRect().right)),
                boxes: boxes.map(e => e.getBoundingClientRect().width),
                taps: boxes.map(e => (e.closest('label') || e).getBoundingClientRect().height),
                links: [...document.querySelectorAll('.jump a')].map(
                    e => [e.getBoundingClientRect().height,
                          document.querySelector(e.getAttribute('href')) !== null]),
                byHand: seen.filter(e => e.matches('.by-hand')).length,
            };
        }"""
    )
    assert looks["wide"] == looks["byHand"] == 0
    assert looks["right"] <= 390
    assert min(looks["boxes"]) >= 24  # CSS pixels: WCAG 2.2, 2.5.8
    assert min(looks["taps"]) >= 44
    assert all(height >= 44 and there for height, there in looks["links"])
    assert len(looks["links"]) == 12
    page.emulate_media(media="print")
    shown = page.evaluate(
        "() => ['.by-hand', '.jump'].map("
        "one => getComputedStyle(document.querySelector(one)).display)"
    )
    assert shown[0] != "none"  # printed from a phone, the room to write is there
    assert shown[1] == "none"


def test_from_the_due_list_to_a_sheet_printed_and_the_job_logged(
    browser, server, working_unit, tmp_path
):
    _, model = working_unit
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.set_default_timeout(_PATIENCE)
    page.goto(f"{server}/due?model={model}&as_of={shared.today()}")
    link = page.get_by_role("link", name=re.compile("^Bench sheet")).first
    link.wait_for()
    unit = re.search(r"unit=([^&]+)", link.get_attribute("href"))[1]
    due = page.get_by_text(re.compile(rf"^{re.escape(unit)}: ")).first
    due.wait_for()
    link.click()
    page.wait_for_url(re.compile(rf"/sheet\?.*unit={unit}"))
    frame = page.frame_locator("iframe[title*='Bench sheet']")
    frame.get_by_role("heading", name=f"Bench sheet: {unit}").wait_for()
    said = page.get_by_text("Why it is here:").first.inner_text()
    assert said.removeprefix("Why it is here: ") in frame.locator("main").inner_text()
    with page.expect_download() as download:
        page.get_by_role("button", name="Download the sheet (HTML)").click()
    paper = context.new_page()
    paper.goto(Path(download.value.path()).rename(tmp_path / "sheet.html").as_uri())
    paper.pdf(path=tmp_path / "sheet.pdf", format="A4", prefer_css_page_size=True)
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    paper.close()
    page.get_by_role("button", name="Log the recap").click()
    page.wait_for_url(re.compile(rf"/log\?.*unit={unit}"))
    page.wait_for_url(re.compile("log_kind=recapped"))
    page.get_by_text("Before anyone opens the machine.").first.wait_for()
    page.get_by_text("all", exact=True).first.wait_for()  # every position, told once
    assert faults == []
    context.close()


def test_the_page_shows_the_sheet_keeps_a_step_and_gives_the_file(browser, server, working_unit):
    name, _ = working_unit
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.set_default_timeout(_PATIENCE)
    page.goto(f"{server}/sheet?unit={name}&as_of={shared.today()}")
    frame = page.frame_locator("iframe[title*='Bench sheet']")
    frame.get_by_role("heading", name=f"Bench sheet: {name}").wait_for()
    # As high as what it holds: no box that scrolls in a page that scrolls.
    page.wait_for_function(
        """() => { const f = document.querySelector("iframe[title*='Bench sheet']");
            return f.clientHeight >= f.contentDocument.documentElement.scrollHeight - 1; }"""
    )
    page.get_by_text("Keep a step for next time").click()
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
    assert faults == []
    context.close()
