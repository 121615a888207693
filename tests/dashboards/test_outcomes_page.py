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
    assert {"ESR (ohm) before", "ESR (ohm) after", "Value of the place"} <= set(readings.columns)
    verdicts = {"good", "bad", "does not say", "not measured"}
    assert set(readings["Before"]) <= verdicts
    assert set(readings["After"]) <= {*verdicts, "left in place"}
    said = texts(page)
    assert any("**WQ18**" in text and "The next recap succeeds" in text for text in said)
    assert any("Unplug it" in text for text in said)
    cells = [str(v) for f in page.dataframe for c in f.value.columns for v in f.value[c]]
    assert not [text for text in said if re.search(r"\b(inf|nan)\b", text, re.I)]
    assert "failed_early" not in " ".join([*said, *cells])
    assert not [text for text in said if re.search(r"\bfleet \w|--\w|\w_\w", text)]


def test_chances_are_said_as_people_say_them(demo_store, open_view):
    page = open_view("outcomes")
    said = texts(page)
    table = page.dataframe[0].value.set_index("Model")
    for model in ("BZ62", "DQ31", "IX07", "WQ18"):
        told = rf"\*\*{model}\*\*: The next recap succeeds in about (\d+) in 100 \((\d+) to (\d+) "
        (numbers,) = {m.groups() for text in said if (m := re.search(told, text))}
        columns = ["Next succeeds (in 100)", "at least", "at most"]
        assert [int(n) for n in numbers] == [round(v) for v in table.loc[model, columns]]


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
    assert any("the page Bring in data" in info.value for info in page.info)


# The log page


def test_outcome_and_readings_are_saved_with_the_job(recap, demo_store):
    unit = recap.selectbox(key="unit").value
    recap.pills(key="log_cured").set_value("no").run()
    lines = "C1 before 12.1/0.02V 4.1 ohm after 0.2 ohm\nC2 before after"
    recap.text_area(key="log_readings").set_value(lines).run()
    assert not recap.exception
    understood = recap.dataframe[0].value
    assert list(understood["Position"]) == ["C1", "C1"]
    assert list(understood["ESR (ohm)"]) == ["4.1", "0.2"]
    assert recap.button(key="log_save").disabled
    assert any("which positions were replaced is not said" in c.value for c in recap.caption)
    recap.pills(key="log_positions").set_value(["C1"]).run()
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


def test_odd_readings_are_asked_about_before_they_are_saved(recap):
    recap.text_area(key="log_readings").set_value("C1 before 1800ohm\nC99 before 2ohm").run()
    assert any("which positions were replaced is not said" in c.value for c in recap.caption)
    assert any("1800 ohm, where a fresh part" in c.value for c in recap.caption)
    recap.pills(key="log_positions").set_value(["all"]).run()
    assert recap.button(key="log_save").disabled
    red = " ".join(caption.value for caption in recap.caption if ":red[" in caption.value)
    assert "C1 before: 1800 ohm, where a fresh part reads about" in red
    assert "no position C99 on record" in red
    assert "on the page Parts" in red
    assert "fleet" not in red
    next(c for c in recap.checkbox if c.label == "Yes, it is so").set_value(True).run()
    assert not recap.button(key="log_save").disabled
    recap.text_area(key="log_readings").set_value("C1 before 1800ohm").run()
    assert recap.button(key="log_save").disabled  # other sentences, asked anew
    recap.text_area(key="log_readings").set_value("C1 before 1.8ohm").run()
    assert not recap.button(key="log_save").disabled


def test_readings_of_a_place_in_fields_of_their_own_become_a_line(recap):
    recap.button(key="log_one_add").click().run()
    assert any("Say which place" in caption.value for caption in recap.caption)
    recap.selectbox(key="log_one_place").set_value("C1").run()
    for field, text in {
        "before_volts_positive": "12.1", "before_volts_negative": "0.02", "before_esr": "4,1",
        "after_esr": "0.2 ohm", "after_capacitance": "470",
    }.items():  # fmt: skip
        recap.text_input(key=f"log_one_{field}").set_value(text)
    recap.button(key="log_one_add").click().run()
    assert not recap.exception
    line = "C1 before 12.1/0.02V 4,1ohm after 0.2 ohm 470uF"
    assert recap.text_area(key="log_readings").value == line
    assert recap.text_input(key="log_one_before_esr").value == ""
    understood = recap.dataframe[0].value
    assert list(understood["ESR (ohm)"]) == ["4.1", "0.2"]


def test_lines_for_the_positions_are_put_in_once(recap, working_unit, demo_store):
    recap.text_area(key="log_readings").set_value("C1 before 4ohm").run()
    for _ in range(2):
        recap.button(key="log_reading_lines").click().run()
    places = [line.split()[0] for line in recap.text_area(key="log_readings").value.splitlines()]
    known = known_records(demo_store, ("positions",), as_of=None)["positions"]
    there = known.filter(model=working_unit[1])["position"]
    assert places == sorted(there, key=lambda name: int(name[1:]))  # C2 before C11
    recap.pills(key="log_positions").set_value(["all"]).run()
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
