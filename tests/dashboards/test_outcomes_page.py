"""How recaps turned out, and the job's outcome and readings entered on the log page."""

import re

import pytest

from fleet.flow.known import known_records


@pytest.fixture
def recap(working_unit, open_view):
    """The log page with a working machine chosen, to be reported as recapped."""
    page = open_view("log", unit=working_unit[0])
    page.pills(key="log_kind").set_value("recapped").run()
    return page


def texts(page):
    kinds = ("title", "header", "subheader", "markdown", "caption", "info", "warning")
    return [element.value for kind in kinds for element in getattr(page, kind)]


# The page


def test_the_demo_by_model_job_and_position(demo_store, open_view):
    page = open_view("outcomes")
    assert not page.exception
    assert not page.error
    assert page.title[0].value == "How recaps turned out"
    models, jobs, readings = (frame.value for frame in page.dataframe)
    assert set(models["Model"]) == {"BZ62", "DQ31", "IX07", "WQ18"}
    assert (models["Succeeded"] <= models["Jobs of known outcome"]).all()
    assert set(jobs["Cured"]) == {"yes", "no", "unknown"}
    assert "Capacitors were replaced" in set(jobs["What"])
    assert {"ESR (ohm) before", "ESR (ohm) after"} <= set(readings.columns)
    said = texts(page)
    assert any("**WQ18**" in text and "The next recap succeeds" in text for text in said)
    assert any("Unplug it" in text for text in said)
    cells = [str(v) for f in page.dataframe for c in f.value.columns for v in f.value[c]]
    assert not [text for text in said if re.search(r"\b(inf|nan)\b", text, re.I)]
    assert "failed_early" not in " ".join([*said, *cells])
    assert not [text for text in said if re.search(r"\bfleet \w|--\w|\w_\w", text)]


def test_chances_are_said_as_people_say_them(demo_store, open_view):
    said = texts(open_view("outcomes"))
    for model in ("BZ62", "DQ31", "IX07", "WQ18"):
        assert any(
            re.search(rf"\*\*{model}\*\*: The next recap succeeds in about \d+ in 100? ", text)
            for text in said
        )


def test_one_model_and_another_window_from_the_address(demo_store, open_view):
    page = open_view("outcomes", model="WQ18", early_months="12")
    assert not page.exception
    assert set(page.dataframe[0].value["Model"]) == {"WQ18"}
    assert set(page.dataframe[1].value["Model"]) == {"WQ18"}
    assert any("within 12 months" in text for text in texts(page))


def test_without_recaps_it_says_how_one_comes_in(small_store, open_view):
    small_store([("U1", "K1", "working", "2012-03-01")])
    page = open_view("outcomes", as_of="2019-01-01")
    assert not page.exception
    assert any("No recap is known yet" in info.value for info in page.info)


def test_an_empty_store_says_what_to_do_first(empty_store, open_view):
    page = open_view("outcomes")
    assert not page.exception
    assert any("fleet import" in info.value for info in page.info)


# The log page


def test_outcome_and_readings_are_saved_with_the_job(recap, demo_store):
    unit = recap.selectbox(key="unit").value
    recap.selectbox(key="log_cured").set_value("no").run()
    lines = "C1 before 12.1/0.02V 4.1 ohm after 0.2 ohm\nC2 before after"
    recap.text_area(key="log_readings").set_value(lines).run()
    assert not recap.exception
    understood = recap.dataframe[0].value
    assert list(understood["Position"]) == ["C1", "C1"]
    assert list(understood["ESR (ohm)"]) == ["4.1", "0.2"]
    assert recap.button(key="log_save").disabled
    assert any("which positions were replaced is not said" in c.value for c in recap.caption)
    recap.multiselect(key="log_positions").set_value(["C1"]).run()
    recap.button(key="log_save").click().run()
    assert not recap.exception
    assert not recap.error
    records = known_records(demo_store, ("reports", "readings"), as_of=None)
    newest = records["reports"].filter(unit=unit).sort("entered_on").row(-1, named=True)
    assert (newest["kind"], newest["cured"]) == ("recapped", False)
    mine = records["readings"].filter(unit=unit, date=newest["date"])
    got = mine.sort("stage").select("stage", "volts_positive", "volts_negative", "esr_ohm").rows()
    assert got == [("after", None, None, 0.2), ("before", 12.1, 0.02, 4.1)]
    assert recap.text_area(key="log_readings").value == ""
    assert recap.dataframe[-1].value["Cured"].iloc[0] == "no"


def test_readings_that_are_not_read_are_said_and_kept(recap):
    recap.text_area(key="log_readings").set_value("C1 before warm").run()
    assert any("'warm' is not read" in caption.value for caption in recap.caption)
    assert recap.button(key="log_save").disabled
    assert recap.text_area(key="log_readings").value == "C1 before warm"


def test_lines_for_the_positions_are_put_in_once(recap, working_unit, demo_store):
    recap.text_area(key="log_readings").set_value("C1 before 4ohm").run()
    for _ in range(2):
        recap.button(key="log_reading_lines").click().run()
    places = [line.split()[0] for line in recap.text_area(key="log_readings").value.splitlines()]
    known = known_records(demo_store, ("positions",), as_of=None)["positions"]
    assert sorted(places) == sorted(known.filter(model=working_unit[1])["position"])
    recap.multiselect(key="log_positions").set_value(["all"]).run()
    assert not recap.button(key="log_save").disabled


def test_a_draft_of_readings_outlives_a_look_at_another_page(recap):
    recap.text_area(key="log_readings").set_value("C1 before 4ohm").run()
    recap.switch_page("views/due.py").run()
    recap.switch_page("views/log.py").run()
    assert recap.text_area(key="log_readings").value == "C1 before 4ohm"


@pytest.mark.parametrize("kind", ["failed", "working", "stored"])
def test_only_jobs_are_asked_for_outcome_and_readings(recap, kind):
    recap.pills(key="log_kind").set_value(kind).run()
    keys = {e.key for part in (recap.selectbox, recap.text_area) for e in part}
    assert not {"log_cured", "log_readings"} & keys
