"""What changed between two days, worked by hand and on the demo."""

from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.changed import CHANGED, changed, changed_reports
from fleet.flow.changed_due import due_changes
from fleet.flow.changed_rows import WHAT
from fleet.flow.changed_verdicts import verdict_changes
from fleet.flow.changed_words import changed_words
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files

REPORTS = {"unit": pl.String, "kind": pl.String, "date": pl.String, "date_latest": pl.Date,
           "date_earliest": pl.Date, "record": pl.String}  # fmt: skip


def due_list(**actions):
    """A due list of model M: unit to action, or to action and date."""
    rows = [
        (unit, "M", *(told if isinstance(told, tuple) else (told, None)))
        for unit, told in actions.items()
    ]
    schema = {"unit": pl.String, "model": pl.String, "action": pl.String, "due_on": pl.Date}
    return pl.DataFrame(rows, schema=schema, orient="row")


def told(*rows):
    frame = pl.DataFrame(
        [(u, k, str(d), d, d, f"r{i}") for i, (u, k, d) in enumerate(rows)],
        schema=REPORTS,
        orient="row",
    )
    return {"reports": frame}


def kinds(frame):
    return dict(frame.select("name", "what").iter_rows())


def test_each_way_a_machine_can_move_on_the_list():
    then = due_list(A="leave", B="recap_now", C="recap_now", D="measure", E="leave", F="recap_now")
    now = due_list(A="recap_now", B="leave", D="check_in", E="leave", F="recap_now", G="leave",
                   H="recap_now")  # fmt: skip
    found = due_changes(then, now, told(("C", "failed", date(2026, 6, 3))))
    assert kinds(found) == {
        "A": "became_due", "H": "became_due", "B": "no_longer_due", "C": "left_list",
        "G": "joined_list", "D": "other_advice",
    }  # fmt: skip
    assert found.filter(name="C")["sentence"][0] == (
        "C: off the list (failed, 2026-06-03); it was due now"
    )
    assert found.filter(name="H")["before"][0] == "not on the list"


def test_the_reason_for_leaving_is_the_last_report_and_no_note():
    reports = told(("C", "failed", date(2026, 6, 3)), ("C", "retired", date(2026, 6, 20)),
                   ("C", "note", date(2026, 6, 25)))  # fmt: skip
    found = due_changes(due_list(C="leave"), due_list(), reports)
    assert found["after"].to_list() == ["retired, 2026-06-20"]


def test_a_date_that_moves_within_one_advice_is_not_told():
    then = due_list(A=("recap_when_due", date(2030, 1, 1)))
    now = due_list(A=("recap_when_due", date(2029, 1, 1)))
    assert due_changes(then, now, told()).is_empty()


def test_two_lists_that_agree_have_no_change():
    one = due_list(A="leave", B="recap_now")
    found = due_changes(one, one, told())
    assert found.is_empty()
    assert found.schema == CHANGED


def verdicts(**told):
    rows = [("batch", name, "M", "original", v, f) for name, (v, f) in told.items()]
    return pl.DataFrame(
        rows, schema=["level", "name", "model", "parts", "verdict", "failures"], orient="row"
    )


def test_batches_with_another_verdict_and_new_ones_that_say_something():
    then = verdicts(B1=("cannot tell", 3.0), B2=("like the others", 5.0))
    now = verdicts(
        B1=("shorter life", 6.0), B2=("like the others", 6.0), B3=("too few failures", 1.0),
        B4=("shorter life", 4.5),
    )  # fmt: skip
    found = verdict_changes(then, now)
    assert found["name"].to_list() == ["B1", "B4"]
    assert found["sentence"][0] == (
        "B1 of M (original parts): shorter life; it was: cannot tell; 6 failures now, 3 then"
    )
    assert found["before"][1] == "not looked at"
    assert "4.5 failures now, none then" in found["sentence"][1]


@pytest.fixture
def store(tmp_path):
    """One machine; a report entered late, one corrected, one taken back later."""
    files = {
        "models": "model\nM\n",
        "units": "unit,model,manufactured,enrolled_on,enrolled_because,entered_on\n"
        "U1,M,2000-05-01,2010-05-01,working,2010-05-01\n",
        "reports": "record,unit,kind,date,cause,entered_on,supersedes\n"
        "old,U1,working,2012-01-01,,2012-01-02,\n"
        "late,U1,working,2013-01-01,,2015-06-01,\n"
        "wrong,U1,failed,2014-01-01,other,2014-01-02,\n"
        "right,U1,failed,2014-01-01,capacitor,2015-07-01,wrong\n",
    }
    paths = []
    for kind, text in files.items():
        paths.append(tmp_path / f"{kind}.csv")
        paths[-1].write_text(text)
    made = tmp_path / "small.duckdb"
    create_store(made)
    done = import_files(made, paths, today=date(2016, 1, 1), by=None)
    assert done.rejected.is_empty()
    return made


def test_entered_late_is_new_and_a_correction_says_what_stood_before(store):
    found = changed_reports(store, since=date(2015, 1, 1), as_of=date(2016, 1, 1))
    assert found.select("what", "name", "on", "before", "after").rows() == [
        ("new_report", "U1", "2013-01-01", None, "seen working, 2013-01-01"),
        ("corrected_report", "U1", "2014-01-01", "failed (something else), 2014-01-01",
         "failed (a capacitor), 2014-01-01"),
    ]  # fmt: skip


def test_nothing_new_between_days_without_an_entry(store):
    found = changed_reports(store, since=date(2015, 8, 1), as_of=date(2016, 1, 1))
    assert found.is_empty()
    assert changed_words(found, since=date(2015, 8, 1)) == (
        "Nothing was entered and no answer changed since 2015-08-01.",
    )


def test_a_report_taken_back_is_told(store):
    from fleet.flow.changed_reports import report_changes
    from fleet.flow.known import known_records

    then = known_records(store, ("units", "reports"), as_of=date(2016, 1, 1))
    gone = {**then, "reports": then["reports"].filter(pl.col("record") != "late")}
    found = report_changes(then, gone)
    assert found.select("what", "before").rows() == [
        ("withdrawn_report", "seen working, 2013-01-01")
    ]


@pytest.mark.parametrize("since", [date(2016, 1, 1), date(2016, 1, 2)])
def test_a_day_that_is_not_before_is_refused(store, since):
    with pytest.raises(BadInput, match="give a day before 2016-01-01"):
        changed_reports(store, since=since, as_of=date(2016, 1, 1))


def test_the_demo_agrees_with_its_own_due_lists(demo_store):
    from fleet.flow.due import due

    since, as_of = date(2026, 5, 31), date(2026, 6, 30)
    found = changed(demo_store, since=since, as_of=as_of, batches=False)
    then, now = (due(demo_store, as_of=day).frame for day in (since, as_of))
    was, is_now = (set(f.filter(action="recap_now")["unit"]) for f in (then, now))
    names = {what: set(found.frame.filter(what=what)["name"]) for what in WHAT}
    assert names["became_due"] == is_now - was
    assert names["left_list"] == set(then["unit"]) - set(now["unit"])
    assert names["no_longer_due"] == (was - is_now) & set(now["unit"])
    assert names["new_report"]
    assert len(found.said) == sum(bool(group) for group in names.values())
