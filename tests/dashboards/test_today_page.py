"""The page Today, and the file it keeps beside the store."""

import json
from datetime import date

import polars as pl
import pytest
import reads
import visits

from fleet.flow.answers import lives
from fleet.flow.due import due
from fleet.flow.read_aloud import chance_words
from fleet.flow.whom_to_ask import not_heard_of

AT = "2026-06-30"


@pytest.fixture
def demo(built_demo, monkeypatch):
    """The demo itself, read only: what was reckoned for one test is there for the next."""
    monkeypatch.setenv("FLEET_STORE", str(built_demo))
    monkeypatch.setattr(visits, "last_visit", lambda *_, **__: None)
    return built_demo


def said(page):
    return [element.value for kind in ("markdown", "caption", "code", "info")
            for element in getattr(page, kind)]  # fmt: skip


def test_it_is_the_first_page_and_has_its_five_sections(demo_store, open_view):
    page = open_view("today")
    assert not page.exception
    assert page.title[0].value == "Today"
    assert [head.value for head in page.header] == [
        "Due now", "What changed", "Whom to ask for a check-in", "Jobs of this month",
        "Report for the group",
    ]  # fmt: skip
    assert any("Before anyone opens the machine" in warning.value for warning in page.warning)
    assert any("new reports**" in text for text in said(page))
    assert any("The plan is made when it is asked for." in text for text in said(page))


def test_three_lines_answer_at_a_glance_and_each_machine_has_its_ways(demo, open_view):
    page = open_view("today", as_of=AT)
    assert not page.exception
    listed = due(demo, as_of=date.fromisoformat(AT)).frame
    now = listed.filter(action="recap_now")
    worst = now.row(0, named=True)
    lines = said(page)[1:4]
    assert f"**{now.height} are due now**, of {listed.height} machines at work" in lines[0]
    assert f"Worst: **{worst['unit']}**, {chance_words(worst['p_fail'])} to fail" in lines[0]
    assert lines[1].startswith(":material/sync: Since 31 May 2026: **")
    working = lives(demo, as_of=date.fromisoformat(AT)).working
    silent = not_heard_of(working, as_of=date.fromisoformat(AT)).height
    told = f"12 first, of {silent} not heard of for two years"
    assert f"**{told}**. Begin with **" in lines[2]
    assert any(told in text for text in said(page) if text.startswith("Does it still work?"))
    links = {link.proto.label: link.proto for link in page.get("page_link")}
    for label, view in (("See", "units"), ("Log", "log"), ("Sheet", "sheet")):
        link = links[f"{label} {worst['unit']}"]
        assert link.page.endswith(view)
        assert f"unit={worst['unit']}" in link.query_string


def test_whom_to_ask_is_a_person_with_their_machines(demo, open_view):
    page = open_view("today", as_of=AT)
    asked = page.code[0].value
    people = [text for text in said(page) if text.startswith("Ask **")]
    assert 1 <= len(people) == asked.count("To ")
    assert 1 <= asked.count("last known: ") <= 12
    for text in people:
        name = text.removeprefix("Ask **").split("** about")[0]
        assert f"To {name}: do these still work" in asked


def test_nothing_due_or_nobody_works_is_said(small_store, open_view):
    small_store([("U1", "M", "working", "2020-01-01")])
    page = open_view("today", as_of="2020-02-01")
    assert not page.exception
    assert any("**Nothing is due now**, of 1 machine at work" in text for text in said(page))
    assert any("**Nobody to ask**" in text for text in said(page))


def test_a_store_where_all_failed(small_store, open_view):
    small_store([("U1", "M", "failed", "2019-01-01"), ("U2", "M", "failed", "2018-01-01")])
    page = open_view("today", as_of="2020-02-01")
    assert not page.exception
    assert not page.error
    assert any("**No machine** was known to be working" in text for text in said(page))


def test_pages_share_one_due_list_of_a_day(demo, open_view, monkeypatch):
    asked = []
    answer = reads.due_list

    def counted(store, **how):
        asked.append((store, how["as_of"]))
        return answer(store, **how)

    monkeypatch.setattr(reads, "due_list", counted)
    day = "2026-03-17"
    open_view("today", as_of=day, since="2026-03-02")
    open_view("due", as_of=day)
    open_view("units", as_of=day, unit="S-075")
    assert sorted(on.isoformat() for _, on in asked) == ["2026-03-02", day]


def test_what_changed_since_a_day_in_the_address(demo_store, open_view):
    page = open_view("today", as_of="2026-06-30", since="2026-06-29")
    assert not page.exception
    assert page.date_input(key="since").value == date(2026, 6, 29)
    table = next(f.value for f in page.dataframe if "Day told" in f.value.columns)
    assert set(table["What"]) >= {"new report"}
    month = open_view("today", as_of="2026-06-30", since="2026-05-31")
    longer = next(f.value for f in month.dataframe if "Day told" in f.value.columns)
    assert len(longer) > len(table)


def test_jobs_come_from_the_plan_when_asked_for(demo_store, open_view):
    page = open_view("today", as_of="2026-06-30", show_jobs="True")
    assert not page.exception
    table = next(f.value for f in page.dataframe if "Hours" in f.value.columns)
    assert len(table) > 0
    assert any("hours at the bench" in text for text in said(page))


def test_a_store_where_nothing_is_silent(small_store, open_view):
    small_store([("U1", "M", "working", "2020-01-01"), ("U2", "M", "failed", "2019-06-01")])
    page = open_view("today", as_of="2020-02-01")
    assert not page.exception
    assert any("Every machine on original parts was heard of" in text for text in said(page))


def test_names_from_records_mean_nothing_to_markdown(small_store, open_view):
    small_store([("*U1*", "M", "working", "2010-01-01")])
    page = open_view("today", as_of="2020-02-01", since="2009-01-01")
    assert not page.exception
    assert any("\\*U1\\*" in text for text in said(page))


def test_the_last_visit_is_the_latest_earlier_day(tmp_path):
    store = tmp_path / "s.duckdb"
    one, two, three = date(2026, 1, 1), date(2026, 1, 5), date(2026, 1, 9)
    assert visits.last_visit(store, "", today=one) is None
    assert visits.last_visit(store, "", today=one) is None
    assert visits.last_visit(store, "", today=two) == one
    assert visits.last_visit(store, "", today=two) == one
    assert visits.last_visit(store, "", today=three) == two
    assert visits.last_visit(store, "lena@example.org", today=three) is None
    assert "lena" not in (tmp_path / "s.duckdb.visits.json").read_text()


@pytest.mark.parametrize("content", ["", "[1]", '{"x": 3}', '{"x": ["soon", null]}', "\x00"])
def test_a_file_of_visits_that_cannot_be_read_is_begun_anew(tmp_path, content):
    file = tmp_path / "s.duckdb.visits.json"
    file.write_text(content)
    assert visits.last_visit(tmp_path / "s.duckdb", "", today=date(2026, 1, 1)) is None
    assert len(json.loads(file.read_text())) == 1


def test_a_folder_that_cannot_be_written_to_is_no_fault(tmp_path):
    store = tmp_path / "gone" / "s.duckdb"
    assert visits.last_visit(store, "", today=date(2026, 1, 1)) is None


def test_the_last_visit_is_where_the_page_begins(demo_store, open_view):
    visits.last_visit(demo_store, "", today=date(2026, 6, 20))
    page = open_view("today", as_of="2026-06-30")
    assert page.date_input(key="since").value == date(2026, 6, 20)
    assert any("when you were last here" in text for text in said(page))


def test_changes_as_a_table_hold_what_the_sentences_count(demo_store, open_view):
    page = open_view("today", as_of="2026-06-30", since="2026-05-31")
    table = next(f.value for f in page.dataframe if "Day told" in f.value.columns)
    counts = pl.DataFrame(table.reset_index(drop=True))["What"].value_counts()
    new = counts.filter(What="new report")["count"][0]
    assert any(f"**{new} new reports**" in text for text in said(page))
