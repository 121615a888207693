"""Blank reasons and days of enrolment."""

from datetime import date


def test_blank_reason_is_failed_when_the_first_report_is_a_failure(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01", because=None)
    book.report("2001-01-01", "failed")
    table = book.build(date(2002, 1, 1))
    assert rows(table, "enrolled_because") == [(0, 366, 366, 731, 1, "failed", "failed")]
    assert any(n.startswith("1 unit was taken as enrolled because it failed") for n in table.notes)


def test_blank_reason_is_working_otherwise(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01", because=None)
    book.report("2002-01-01", "failed")
    table = book.build()
    assert rows(table, "enrolled_because") == [(366, 731, 731, None, 1, "failed", "working")]
    assert any(n.startswith("1 unit was taken as enrolled working") for n in table.notes)


def test_blank_day_is_that_of_the_first_report(book, rows):
    book.unit(manufactured="2000-01-01", because="working")
    book.report("2002-01-01", "working").report("2001-01-01", "working")
    assert rows(book.build()) == [(366, 731, None, None, 1, "working")]


def test_no_day_and_no_report_is_listed(book):
    book.unit(manufactured="2000-01-01", because="working")
    table = book.build()
    assert table.lives.is_empty()
    assert table.left_out["reason"][0].startswith("it has no day of enrolment and no report")


def test_enrolment_in_a_year_ends_at_the_first_report_within_it(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001")
    book.report("2001-01-11", "failed")
    # Between 2001-01-01 and 2001-01-11, the middle is 6 January: 371; failed at 376.
    assert rows(book.build()) == [(371, 376, 376, None, 1, "failed")]


def test_failed_before_enrolment_and_enrolled_working_is_no_life(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2002-01-01")
    book.report("2001-01-01", "failed")
    table = book.build()
    assert table.lives.is_empty()
    assert table.left_out["reason"].to_list() == [
        "it had failed before it came under observation, and runs on"
    ]
    assert table.working["failed_once"].to_list() == [True]


def test_reports_of_strangers_are_counted(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01")
    book.report("2002-01-01", "working", unit="nobody")
    notes = book.build().notes
    assert "1 report is of units that are not in the units table, and not used" in notes
