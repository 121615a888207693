"""The bench sheet page: choose, see, keep a step and take it back."""

import json
import re
import runpy
from datetime import date
from pathlib import Path

import pytest

from fleet.flow.bench_sheet import bench_sheet
from fleet.flow.known import known_records
from fleet.sheets.bench_sheet import bench_sheet_page

DAY = date(2026, 6, 30)


def texts(page):
    kinds = ("markdown", "caption", "info", "warning", "error", "success")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def sheet_of(page):
    """The HTML in the page's frame."""
    frames = page.get("iframe")
    assert len(frames) == 1
    return frames[0].proto.srcdoc


def steps(store):
    return known_records(store, ("steps",), as_of=None)["steps"]


@pytest.fixture
def on_a_unit(working_unit, open_view):
    name, model = working_unit
    return open_view("sheet", unit=name), name, model


def test_nothing_is_drawn_until_something_is_chosen(demo_store, open_view):
    page = open_view("sheet")
    assert not page.exception
    assert any("Choose what the sheet is for" in info.value for info in page.info)
    assert any("Unplug it" in warning.value for warning in page.warning)


def test_the_sheet_of_a_machine(demo_store, on_a_unit):
    page, name, _ = on_a_unit
    assert not page.exception
    html = sheet_of(page)
    assert f"<h1>Bench sheet: {name}</h1>" in html
    assert f"fleet log recapped {name} --on" in html
    assert any("Why it is here" in text for text in texts(page))
    button = page.get("download_button")[0]
    assert button.proto.label == "Download the sheet (HTML)"


def test_the_sheet_of_a_model(demo_store, open_view):
    page = open_view("sheet", sheet_for="model", sheet_model="IX07")
    assert not page.exception
    html = sheet_of(page)
    assert "<h1>Bench sheet: IX07</h1>" in html
    assert "For any unit of the model" in html


def test_a_step_is_kept_printed_and_taken_back(demo_store, on_a_unit):
    page, _, model = on_a_unit
    before = steps(demo_store).height
    page.selectbox(key="step_moment").set_value("opening")
    page.text_area(key="step_text").set_value("the <left> clip breaks: warm it first")
    _button(page, "Keep it").click()
    page.run()
    assert not page.exception
    assert any("Kept: the \\<left\\> clip breaks" in text for text in texts(page))
    kept = steps(demo_store)
    assert kept.height == before + 1
    mine = kept.filter(text="the <left> clip breaks: warm it first")
    assert mine.select("model", "unit", "moment").rows() == [(model, None, "opening")]
    assert "the &lt;left&gt; clip breaks" in sheet_of(page)  # never as markup
    _button(page, "Take the step back").click()
    page.run()
    assert steps(demo_store).height == before
    assert "clip breaks" not in sheet_of(page)


def test_a_step_for_this_machine_only(demo_store, on_a_unit):
    page, name, _ = on_a_unit
    page.selectbox(key="step_moment").set_value("symptom")
    page.text_area(key="step_text").set_value("buzzes at rest")
    page.text_input(key="step_cause").set_value("lid screw too tight")
    page.radio(key="step_for").set_value("this machine only")
    _button(page, "Keep it").click()
    page.run()
    kept = steps(demo_store).filter(text="buzzes at rest").row(0, named=True)
    assert (kept["unit"], kept["moment"], kept["cause"]) == (name, "symptom", "lid screw too tight")


def test_a_blank_step_is_not_kept(demo_store, on_a_unit):
    page, _, _ = on_a_unit
    before = steps(demo_store).height
    _button(page, "Keep it").click()
    page.run()
    assert any("nothing was kept" in error.value for error in page.error)
    assert steps(demo_store).height == before


def test_nothing_says_inf_or_nan(demo_store, on_a_unit):
    page, _, _ = on_a_unit
    said = re.sub(r"<[^>]+>", " ", sheet_of(page))
    assert re.findall(r"\b(?:inf|nan|None|infinity)\b", said) == []


def _button(page, label):
    return next(button for button in page.button if button.label == label)


def test_ticks_are_kept_by_the_tab_for_the_machine_and_the_day():
    path = Path(__file__).resolve().parents[2] / "dashboards" / "sheet_ticks.py"
    ticks = runpy.run_path(str(path))["keeping_ticks"]
    shown = ticks("<body><p>steps</p></body></html>", "S-1</script>", date(2026, 6, 30))
    assert shown.endswith("</body></html>")
    assert shown.count("</script>") == 1
    kept = re.search(r'const store = ("[^"]*")', shown)
    assert json.loads(kept[1]) == "fleet-sheet:S-1</script>:2026-06-30"


def test_only_the_sheet_on_the_page_keeps_ticks(demo_store, on_a_unit):
    page, name, _ = on_a_unit
    assert f"fleet-sheet:{name}:" in sheet_of(page)
    assert "<script" not in bench_sheet_page(bench_sheet(demo_store, as_of=DAY, unit=name))
