"""The page on how well past advice did, without a browser and in one."""

import re

import pytest

CHOICES = {"every": "4.0"}  # few past days: they are what takes time
MORE = {"every": "2.0"}


def texts(page):
    kinds = ("title", "header", "subheader", "markdown", "caption", "info", "warning", "error")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def test_the_answer_the_picture_and_the_tables(demo_store, open_view):
    page = open_view("backtest", **CHOICES)
    assert not page.exception
    said = texts(page)
    assert any("Of 100 machines" in text for text in said)
    assert any("Had every date been kept" in text for text in said)
    sizes, days, models = (frame.value for frame in page.dataframe)
    assert {"Expected (of 100)", "Failed (of 100)"} <= set(sizes.columns)
    assert days["Past day"].is_monotonic_increasing
    assert models["Model"].iloc[0] == "all of them"
    assert [text for text in said if re.search(r"\b(inf|nan)\b|--", text)] == []


def test_choices_come_from_the_address(demo_store, open_view):
    page = open_view("backtest", **CHOICES, ahead="1.0", fixed_age="12.0")
    assert not page.exception
    assert any("within 1 year" in text for text in texts(page))
    assert "Cost: at 12 years" in page.dataframe[1].value.columns


def test_a_few_past_days_are_enough_if_so_chosen(demo_store, open_view):
    page = open_view("backtest", **MORE, few="True")
    assert not page.exception
    days = page.dataframe[1].value["Past day"].tolist()
    assert len(days) == 3
    assert any(text.startswith("3 of ") and "untick" in text for text in texts(page))
    whole = open_view("backtest", **MORE).dataframe[1].value["Past day"].tolist()
    assert set(days) < set(whole)
    assert (whole[0], whole[-1]) == (days[0], days[-1])


def test_the_answer_comes_first(demo_store, open_view):
    page = open_view("backtest", **MORE, few="True")
    assert re.match(r"So far, from 3 of \d+ past days; .*\*\*Of 100 machines ", page.info[0].value)
    assert set(page.dataframe[2].value["Did it come true?"]) <= {
        "as was said", "more failed", "fewer failed", "too few failures", "not followed"
    }  # fmt: skip


def test_too_little_history_is_a_sentence(small_store, open_view):
    small_store([("A1", "KB-1", "working", "2019-06-01"), ("A2", "KB-1", "failed", "2019-03-01")])
    page = open_view("backtest", as_of="2020-01-01")
    assert not page.exception
    assert not page.dataframe
    said = " ".join(texts(page))
    assert "too few failures" in said or "too little history" in said
    assert "--" not in said


@pytest.mark.browser
@pytest.mark.slow
def test_it_opens_in_a_browser_and_fits_a_phone(browser, server):
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.set_default_timeout(120_000)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(f"{server}/backtest?every=4.0")
    page.get_by_text("Model by model").wait_for()
    page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")
    assert page.locator("h1").inner_text() == "How well it did"
    chart = page.locator("[data-testid='stVegaLiteChart']")
    assert chart.count() == 1
    assert "expected to fail" in chart.first.get_attribute("aria-label")
    wide = page.evaluate("() => document.querySelector('[data-testid=stMain]').scrollWidth")
    assert wide <= 390
    assert faults == []
    context.close()
