"""What became of recaps and swapped boards, each on a history small enough to read."""

from datetime import date

import pytest

from fleet.lives.recaps import RECAPS, recaps_of

EARLY = 180.0


@pytest.fixture
def unit(book):
    return book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")


def jobs(book, *columns, as_of=date(2025, 1, 1)):
    frame = recaps_of(book.records(), as_of=as_of, early_days=EARLY)
    assert frame.schema == RECAPS
    return frame.select(columns or ("cured", "known_by", "failed_early")).rows()


def test_what_it_answered_and_what_was_fitted(unit):
    unit.report("2001-01-01", "failed", symptom="no display", cause="capacitor")
    unit.report(
        "2001-01-11", "recapped", positions="C1;C2", batch="B9", because="failure", symptom="dark"
    )
    columns = ("unit", "model", "set_no", "on", "positions", "whole", "batch", "because",
               "failed_on", "symptom", "cause")  # fmt: skip
    assert jobs(unit, *columns) == [
        ("u", "M", 2, date(2001, 1, 11), "C1;C2", False, "B9", "failure", date(2001, 1, 1),
         "no display", "capacitor"),
    ]  # fmt: skip


def test_a_failure_before_a_job_in_vain_is_answered_by_the_next_one_too(unit):
    unit.report("2001-01-01", "failed", symptom="no display", cause=None)
    unit.report("2001-01-11", "recapped", because="failure", cured=False)
    unit.report("2001-02-01", "board_swapped", cured=True)
    assert jobs(unit, "how", "symptom", "cause", "cured") == [
        ("recapped", "no display", "unknown", "no"),
        ("board_swapped", "no display", "unknown", "yes"),
    ]


def test_a_planned_job_answers_no_failure_that_was_mended_before(unit):
    unit.report("2001-01-01", "failed", cause="other").report("2001-01-11", "repaired")
    unit.report("2002-01-01", "recapped", because="planned")
    assert jobs(unit, "failed_on", "cause") == [(None, None)]


@pytest.mark.parametrize(("told", "cured"), [(True, "yes"), (False, "no")])
def test_what_was_told_stands(unit, told, cured):
    unit.report("2001-01-11", "recapped", cured=told).report("2001-03-01", "working")
    assert jobs(unit) == [(cured, "told", False)]


def test_nothing_heard_is_unknown(unit):
    unit.report("2001-01-11", "recapped")
    assert jobs(unit) == [("unknown", None, False)]


def test_seen_working_again_is_cured(unit):
    unit.report("2001-01-11", "recapped").report("2001-03-02", "working")
    assert jobs(unit) == [("yes", "seen_working", False)]
    # 2001-01-11 to 2001-03-02: 20 days of January, 28 of February, 2 of March.
    assert jobs(unit, "seen_on", "watched") == [(date(2001, 3, 2), 50.0)]


@pytest.mark.parametrize("cause", ["capacitor", "other", "unknown", None])
def test_failed_again_early_before_anybody_saw_it_working_is_not_cured(unit, cause):
    unit.report("2001-01-11", "recapped").report("2001-07-10", "failed", cause=cause)
    # Exactly 180 days later.
    assert jobs(unit) == [("no", "failed_early", True)]
    assert jobs(unit, "again_after", "again_cause") == [(180.0, cause or "unknown")]


def test_a_day_later_it_had_worked(unit):
    unit.report("2001-01-11", "recapped").report("2001-07-11", "failed")
    assert jobs(unit) == [("yes", "failed_later", False)]


def test_found_dead_later_says_nothing(unit):
    unit.report("2001-01-11", "recapped").report("2002-07-11", "failed", found_dead=True)
    assert jobs(unit) == [("unknown", None, False)]


def test_worked_and_failed_early_is_cured_and_failed_early(unit):
    unit.report("2001-01-11", "recapped", cured=True).report("2001-02-11", "failed")
    assert jobs(unit) == [("yes", "told", True)]


def test_another_cause_may_be_the_jobs_doing_too(unit):
    """A cracked joint, an exchanged connector: no capacitor failed (common practice, no source)."""
    unit.report("2001-01-11", "recapped", cured=True).report("2001-02-11", "failed", cause="other")
    assert jobs(unit) == [("yes", "told", True)]
    assert jobs(unit, "again_cause") == [("other",)]


@pytest.mark.parametrize(("at", "early"), [("C1", True), ("C2; C3", False), (None, True)])
def test_after_a_recap_of_some_a_failure_at_others_is_not_tied_to_it(unit, at, early):
    unit.report("2001-01-11", "recapped", positions="C1", cured=True)
    unit.report("2001-02-11", "failed", positions=at)
    assert jobs(unit, "failed_early") == [(early,)]


def test_a_recap_that_tells_of_a_failure_tells_of_one_before_it(unit):
    unit.report("2001-01-11", "recapped").report("2001-02-11", "recapped", because="failure")
    assert jobs(unit) == [("no", "failed_early", True), ("unknown", None, False)]


def test_a_planned_recap_says_that_it_worked(unit):
    unit.report("2001-01-11", "recapped").report("2009-02-11", "recapped", because="planned")
    assert jobs(unit)[0] == ("yes", "seen_working", False)


def test_repaired_soon_after_before_it_was_seen_working_is_not_cured(unit):
    unit.report("2001-01-11", "recapped").report("2001-02-11", "repaired")
    assert jobs(unit) == [("no", "repaired_early", False)]


def test_one_seen_working_is_no_word_of_the_job_before_the_repair(unit):
    unit.report("2001-01-11", "recapped").report("2001-02-11", "repaired")
    unit.report("2001-03-11", "working")
    assert jobs(unit, "cured") == [("no",)]


def test_jobs_before_the_unit_was_known_are_history(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2005-01-01")
    book.report("2003-01-11", "recapped").report("2006-01-11", "recapped")
    assert jobs(book, "history", "cured") == [(True, "yes"), (False, "unknown")]


def test_jobs_before_the_failure_that_made_a_unit_known_are_history(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2005-01-01", because="failed")
    book.report("2003-01-11", "recapped").report("2005-01-01", "failed")
    book.report("2005-02-01", "recapped", cured=True)
    assert jobs(book, "history", "cured") == [(True, "yes"), (False, "yes")]


def test_as_known_on_a_date(unit):
    unit.report("2001-01-11", "recapped").report("2001-02-11", "failed")
    assert jobs(unit, as_of=date(2001, 2, 1)) == [("unknown", None, False)]
    assert jobs(unit, as_of=date(2000, 2, 1)) == []


def test_one_recap_told_twice_is_one_job(unit):
    unit.report("2001-01-11", "recapped", by="A").report("2001-01-15", "recapped", by="B")
    assert len(jobs(unit)) == 1


def test_no_records_give_an_empty_frame(book):
    assert jobs(book) == []
