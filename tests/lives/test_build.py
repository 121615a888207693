"""The rules of the life table, each on a history small enough to reckon by hand.

Days: 2000-01-01 + 366 = 2001-01-01; + 731 = 2002-01-01; 2001 to 2003 are 365 each.
"""

from datetime import date

import polars as pl
import pytest


def days(start: str, end: str) -> float:
    return float((date.fromisoformat(end) - date.fromisoformat(start)).days)


# Rule 1: sets


def test_whole_recap_starts_a_set_and_ends_the_one_before(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped", because="planned", batch="B9")
    book.report("2001-01-11", "working")
    # Factory set good for 366 days; the new one 10 days.
    assert rows(book.build(), "set_no", "parts", "batch") == [
        (0, 366, None, None, 1, "planned", 1, "original", None),
        (0, 10, None, None, 1, "working", 2, "replaced_known", "B9"),
    ]


def test_swapped_board_starts_a_set_of_unknown_parts(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "board_swapped")
    book.report("2001-01-06", "working")
    assert rows(book.build(), "parts") == [
        (0, 366, None, None, 1, "swapped", "original"),
        (0, 5, None, None, 1, "working", "replaced_unknown"),
    ]


def test_recap_of_some_positions_is_partial_and_keeps_the_oldest_start(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped", because="planned", positions="C1;C4")
    table = book.build()
    assert rows(table, "parts") == [
        (0, 366, None, None, 1, "planned", "original"),
        (0, 0, None, None, 1, "lost_sight", "partial"),
    ]
    unit = table.working.row(0, named=True)
    assert (unit["started"], unit["oldest_started"]) == (date(2001, 1, 1), date(2000, 1, 1))


def test_oldest_start_is_of_the_last_whole_set(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped", because="planned")
    book.report("2002-01-01", "recapped", because="planned", positions="C1")
    unit = book.build().working.row(0, named=True)
    assert (unit["started"], unit["oldest_started"]) == (date(2002, 1, 1), date(2001, 1, 1))


# Rule 2: when observation began


def test_only_the_set_fitted_at_enrolment_and_later_ones_are_lives(book, rows):
    book.unit(manufactured="1998-01-01", enrolled_on="2020-01-01")
    book.report("2012-01-01", "recapped", because="planned")
    book.report("2021-01-01", "working")
    # 2012 to 2020: 8 years with leap days in 2012 and 2016: 8 * 365 + 2 = 2922.
    # 2020 is a leap year: 2922 + 366 = 3288.
    table = book.build()
    assert rows(table, "set_no") == [(2922, 3288, None, None, 1, "working", 2)]
    assert "1 set ended before the unit was known: history, no life" in table.notes


def test_enrolment_counts_as_seen_working(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01")
    table = book.build()
    assert rows(table, "enrolled_because") == [(366, 366, None, None, 1, "lost_sight", "working")]
    assert table.working["last_known_working"].to_list() == [date(2001, 1, 1)]


def test_failure_on_the_day_of_enrolment_lies_in_the_day_after(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01")
    book.report("2001-01-01", "failed")
    assert rows(book.build()) == [(366, 366, 367, None, 1, "failed")]


# Rule 3: enrolled because it failed


def test_enrolled_failed_is_truncated_by_cut_off_and_start_of_collection(book, rows):
    book.add("sources", source="S", collecting_since="2001-01-01", data_cutoff="2003-01-01")
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01", because="failed", source="S")
    book.report("2002-01-01", "failed")
    # Collected from age 366, failed at 366 + 365 = 731, cut off at 731 + 365 = 1096.
    assert rows(book.build(), "enrolled_because", "noticed") == [
        (366, 731, 731, 1096, 1, "failed", "failed", None)
    ]
    # A cut-off by as_of, where that is earlier.
    assert rows(book.build(date(2002, 1, 11))) == [(366, 731, 731, 741, 1, "failed")]


def test_failure_before_collecting_is_left_out_and_counted(book):
    book.add("sources", source="S", collecting_since="2003-01-01")
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01", because="failed", source="S")
    book.report("2002-01-01", "failed")
    table = book.build()
    assert table.lives.is_empty()
    reason = "it failed before 2003-01-01, when S began to collect failures"
    assert table.left_out.rows() == [("u", 1, reason, "reports1")]
    assert f"1 left out: {reason}" in table.notes


def test_several_left_out_for_one_reason_are_one_note(book):
    book.add("sources", source="S", collecting_since="2003-01-01")
    for unit in ("u", "v"):
        book.unit(unit, "2000-01-01", enrolled_on="2002-01-01", because="failed", source="S")
        book.report("2002-01-01", "failed", unit=unit)
    assert (
        "2 left out, each because it failed before 2003-01-01, when S began to collect failures"
    ) in book.build().notes


def test_found_dead_counts_by_the_day_found_and_enters_at_new(book, rows):
    book.add("sources", source="S", collecting_since="2001-01-01", data_cutoff="2003-01-01")
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01", because="failed", source="S")
    book.report("2002-01-01", "failed", found_dead=True)
    assert rows(book.build()) == [(0, 0, 731, 1096, 1, "failed")]


def test_failure_in_a_year_that_straddles_the_start_of_collection(book, rows):
    book.add("sources", source="S", collecting_since="2001-07-01", data_cutoff="2003-01-01")
    book.unit(manufactured="2000-01-01", enrolled_on="2002", because="failed", source="S")
    book.report("2001", "failed")
    # Collected from 366 + 181 = 547 (January to June 2001 have 181 days), by 2001-12-31: 730.
    assert rows(book.build()) == [(547, 547, 730, 1096, 1, "failed")]


def test_later_sets_of_a_unit_enrolled_failed_are_ordinary(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01", because="failed")
    book.report("2002-01-01", "failed")
    book.report("2002-01-11", "recapped", because="failure")
    book.report("2002-01-21", "working")
    assert rows(book.build(date(2003, 1, 1)), "set_no", "enrolled_because") == [
        (0, 731, 731, 1096, 1, "failed", 1, "failed"),
        (0, 10, None, None, 1, "working", 2, None),
    ]


def test_set_fitted_before_a_late_enrolment_enters_late(book, rows):
    # Failed and recapped, written down three weeks later.
    book.unit(manufactured="2000-01-01", enrolled_on="2002-02-01", because="failed")
    book.report("2002-01-01", "failed")
    book.report("2002-01-11", "recapped")
    book.report("2002-03-01", "working")
    # New set: known from age 21 (11 January to 1 February), seen at 49.
    assert rows(book.build(date(2003, 1, 1))) == [
        (0, 731, 731, 1096, 1, "failed"),
        (21, 49, None, None, 1, "working"),
    ]


def test_enrolled_failed_without_a_failure_is_listed(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01", because="failed")
    table = book.build()
    assert table.lives.is_empty()
    assert table.working.is_empty()
    assert table.left_out["reason"].to_list() == [
        "it was enrolled because it failed, but no report tells of the failure"
    ]


# Rule 4: silence is no credit


def test_working_set_is_censored_at_its_last_report(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "working")
    book.report("2002-01-01", "stored")
    assert rows(book.build()) == [(0, 366, None, None, 1, "working")]


def test_last_known_working_counts_with_any_kind(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2002-01-01", "stored", last_known_working="2001-01-01")
    assert rows(book.build()) == [(0, 366, None, None, 1, "working")]


def test_working_some_time_in_a_year_is_credited_to_its_first_day(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001", "working")
    assert rows(book.build()) == [(0, 366, None, None, 1, "working")]


# Rule 5: causes


def test_other_cause_lives_on_when_seen_working_again(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="other")
    book.report("2001-01-05", "repaired")
    book.report("2002-01-01", "working")
    assert rows(book.build()) == [(0, 731, None, None, 1, "working")]


def test_other_cause_in_use_censors_at_its_first_day(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2000-06-01", "working")
    book.report("2001", "failed", cause="other")
    assert rows(book.build()) == [(0, 366, None, None, 1, "other_cause")]


def test_other_cause_found_dead_censors_when_last_seen_working(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2000-01-31", "working")
    book.report("2001-01-01", "failed", cause="other", found_dead=True)
    table = book.build()
    assert rows(table) == [(0, 30, None, None, 1, "other_cause")]
    assert table.working.is_empty()


def test_enrolled_failed_by_other_cause_is_no_life_until_it_works(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01", because="failed")
    book.report("2001-01-01", "failed", cause="other")
    table = book.build()
    assert table.lives.is_empty()
    assert table.left_out["reason"][0].startswith("it was enrolled because it failed, not by")
    book.report("2001-01-11", "repaired")
    book.report("2002-01-01", "failed")
    # Delayed entry at 366 + 10 = 376 on the same set, ordinary from then on.
    assert rows(book.build()) == [(376, 731, 731, None, 1, "failed")]


def test_unknown_cause_is_split_by_the_models_share(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    # Five known failures of the model, four by capacitors: share (1 + 4) / (2 + 5) = 5/7.
    for i, cause in enumerate(["capacitor"] * 4 + ["other"]):
        book.unit(f"v{i}", manufactured="2000-01-01", enrolled_on="2000-01-01")
        book.report("2000-03-01", "failed", unit=f"v{i}", cause=cause)
    table = book.build()
    share = table.shares.row(0, named=True)
    assert share == {
        "model": "M", "capacitor": 4, "other": 1, "unknown": 1, "share": pytest.approx(5 / 7),
    }  # fmt: skip
    own = table.lives.filter(pl.col("unit") == "u").sort("end")
    assert own.select("entry", "low", "high", "end", "reports").rows() == [
        (0, 366, 366, "failed", "reports1"),
        (0, 366, None, "other_cause", "reports1"),
    ]
    assert own["count"].to_list() == pytest.approx([5 / 7, 2 / 7])


def test_few_known_causes_borrow_from_the_kind(book):
    book.add("models", model="M", kind="bread maker").add("models", model="N", kind="bread maker")
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    for i in range(5):
        book.unit(f"n{i}", model="N", manufactured="2000-01-01", enrolled_on="2000-01-01")
        book.report("2000-03-01", "failed", unit=f"n{i}", cause="other")
    # M knows none: its kind's (1 + 0) / (2 + 5) = 1/7.
    assert book.build().shares.select("model", "share").rows() == [
        ("M", pytest.approx(1 / 7)),
        ("N", pytest.approx(1 / 7)),
    ]


def test_nothing_known_of_causes_is_one_half(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    table = book.build()
    assert table.lives["count"].to_list() == [0.5, 0.5]
    assert table.shares["share"].to_list() == [0.5]


@pytest.mark.parametrize(("how", "end"), [("capacitor", "failed"), ("other", "other_cause")])
def test_unknown_cause_taken_one_way(book, how, end):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    lives = book.build(unknown_cause=how).lives
    assert lives.select("count", "end").rows() == [(1, end)]


def test_enrolled_failed_of_unknown_cause_has_the_failing_share_only(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01", because="failed")
    book.report("2001-01-01", "failed", cause="unknown")
    assert rows(book.build(date(2002, 1, 1))) == [(0, 366, 366, 731, 0.5, "failed")]


def test_set_that_ran_on_after_an_unknown_cause_lives_on_in_part(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    book.report("2001-02-01", "working")
    book.report("2002-01-01", "failed", cause="capacitor")
    # One known cause, the capacitors': share (1 + 1) / (2 + 1) = 2/3 ended at 366, the rest at 731.
    got = rows(book.build())
    assert [r[1] for r in got] == [366, 731]
    assert [r[4] for r in got] == pytest.approx([2 / 3, 1 / 3])


# Rule 6: recaps and retirement


def test_recap_because_of_a_reading_is_censored_or_failed(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped", because="reading")
    assert rows(book.build())[0] == (0, 366, None, None, 1, "reading")
    failed = book.build(degraded_as="failed")
    assert rows(failed, "noticed")[0] == (0, 366, 366, None, 1, "failed", None)


def test_recap_because_of_an_unreported_failure(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2000-01-31", "working")
    book.report("2001-01-01", "recapped", because="failure")
    # Failed somewhere between day 30, last seen working, and day 366.
    assert rows(book.build(), "noticed")[0] == (0, 30, 366, None, 1, "failed", "at_check")


def test_recap_says_what_the_failure_was(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown")
    book.report("2001-01-03", "recapped", because="failure")
    assert rows(book.build(), "reports") == [
        (0, 366, 366, None, 1, "failed", "reports1;reports2"),
        (0, 0, None, None, 1, "lost_sight", "reports2"),
    ]


def test_recap_without_a_reason_is_planned_unless_something_failed(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped")
    assert rows(book.build())[0] == (0, 366, None, None, 1, "planned")
    book.report("2002-01-01", "failed")
    book.report("2002-01-01", "recapped")
    assert rows(book.build())[1] == (0, 365, 365, None, 1, "failed")


def test_retired_is_censored_when_last_seen_working(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2000-01-31", "working")
    book.report("2001-01-01", "retired")
    table = book.build()
    assert rows(table) == [(0, 30, None, None, 1, "retired")]
    assert table.working.is_empty()
    told = book.unit("w", manufactured="2000-01-01", enrolled_on="2000-01-01")
    told.report("2001-01-01", "retired", unit="w", last_known_working="2001-01-01")
    assert rows(told.build())[1] == (0, 366, None, None, 1, "retired")


def test_failed_then_running_without_a_recap_is_listed_as_such(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed")
    book.report("2001-02-01", "working")
    table = book.build()
    assert rows(table) == [(0, 366, 366, None, 1, "failed")]
    assert table.working.select("failed_once", "last_known_working").rows() == [
        (True, date(2001, 2, 1))
    ]
    # Failing again adds nothing: the life ended at the first.
    book.report("2002-01-01", "failed")
    assert rows(book.build()) == [(0, 366, 366, None, 1, "failed")]
    assert book.build().working.is_empty()


# Rule 7: dates as ranges


def test_exact_days_and_age_nought(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2000-01-01", "failed")
    assert rows(book.build()) == [(0, 0, 1, None, 1, "failed")]


def test_build_year_and_failure_year_widen_the_interval(book, rows):
    book.unit(manufactured="2000", enrolled_on="2000-07-01")
    book.report("2002", "failed")
    # Earliest failure 2002-01-01 less latest start 2000-07-01 (it was there at enrolment):
    # 184 + 365 = 549. Latest 2002-12-31 less 2000-01-01: 366 + 365 + 364 = 1095.
    # Entry from the middle of 1 January to 1 July 2000 (182 days): 2000-04-01, 91 days before.
    assert rows(book.build(), "noticed") == [(91, 549, 1095, None, 1, "failed", "in_use")]


def test_low_is_never_below_entry(book, rows):
    # Built some time in 2000, bought 2001-01-01, failed ten days later.
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("2001-01-11", "failed")
    # Middle of 2000 is 2000-07-01 (day 182 of 365 after the first): entry 366 - 182 = 184.
    # Low by ranges 2001-01-11 less 2000-12-31 = 11, high 366 + 10 = 376.
    assert rows(book.build()) == [(184, 184, 376, None, 1, "failed")]


def test_build_date_is_narrowed_by_batch_model_and_first_report(book, rows):
    book.add("models", model="M", first_made="1999", last_made="2000")
    book.add("batches", batch="B1", made="2000-03")
    book.unit(batch="B1", enrolled_on="2001-06-01")
    book.report("2002-01-01", "working")
    # 2000-03-01 (parts) to 2000-12-31 (last year of the model): 305 days, middle 152 days on,
    # 2000-07-31. Enrolled 305 days later, seen 214 days after that.
    assert days("2000-07-31", "2001-06-01") == 305
    assert rows(book.build()) == [(305, 519, None, None, 1, "working")]
    assert book.build().working.select("started_earliest", "started_latest").rows() == [
        (date(2000, 3, 1), date(2000, 12, 31))
    ]


def test_no_build_range_is_left_out_and_later_sets_are_not(book, rows):
    book.unit(enrolled_on="2001-01-01")
    book.report("2002-01-01", "recapped", because="planned")
    book.report("2002-01-11", "working")
    table = book.build()
    assert rows(table, "set_no") == [(0, 10, None, None, 1, "working", 2)]
    assert table.left_out.select("unit", "set_no").rows() == [("u", 1)]
    assert "nothing says after which day it was built" in table.left_out["reason"][0]


def test_found_dead_lies_between_last_seen_working_and_found(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-11")
    book.report("2001-01-01", "failed", found_dead=True)
    assert rows(book.build(), "noticed") == [(10, 10, 366, None, 1, "failed", "at_check")]
    book.report("2000-01-31", "working")
    assert rows(book.build()) == [(10, 30, 366, None, 1, "failed")]


def test_last_known_working_narrows_a_failure(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001", "failed", last_known_working="2001-07-01")
    # 366 + 181 = 547 to 730.
    assert rows(book.build()) == [(0, 547, 730, None, 1, "failed")]


def test_failure_dated_to_the_year_is_answered_by_the_recap_within_it(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001", "failed")
    book.report("2001-03-02", "recapped", because="failure")
    book.report("2001-06-30", "working")
    # 366 to 366 + 60; the new set is seen 120 days later.
    assert rows(book.build()) == [
        (0, 366, 426, None, 1, "failed"),
        (0, 120, None, None, 1, "working"),
    ]


# Rule 8: as known on a date


def test_later_reports_are_not_looked_at(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "working")
    book.report("2001", "failed")
    book.report("2001-02-01", "failed", entered_on="2001-08-01")
    # On 1 July 2001 neither the year had ended nor the second failure been entered.
    assert rows(book.build(date(2001, 7, 1))) == [(0, 366, None, None, 1, "working")]
    assert rows(book.build(date(2001, 8, 1))) == [(0, 397, 397, None, 1, "failed")]


def test_a_unit_enrolled_later_is_not_known_yet(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2005-01-01")
    book.report("2001-01-01", "recapped")
    table = book.build(date(2004, 1, 1))
    assert table.lives.is_empty()
    assert table.working.is_empty()
