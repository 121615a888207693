"""What became of each set, in days of the calendar."""

from datetime import date

import polars as pl
import pytest

from fleet.lives.fates import build_fates

NOW = date(2025, 1, 1)


@pytest.fixture
def fates(book):
    """A function: rows (set_no, failed, share, after, by) of unit u."""

    def of(**options):
        frame = build_fates(book.records(), as_of=NOW, **options).filter(unit="u")
        assert frame.group_by("set_no").agg(pl.col("share").sum())["share"].to_list() == (
            pytest.approx([1.0] * frame["set_no"].n_unique())
        )
        return frame.select("set_no", "failed", "share", "after", "by").rows()

    return of


def test_an_uncertain_build_date_does_not_blur_the_day_of_failure(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01").report("2020-05-06", "failed")
    assert fates() == [(1, True, 1.0, date(2020, 5, 6), date(2020, 5, 6))]


def test_found_dead_lies_after_it_was_last_seen_working(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2019-03-01", "working").report("2020-05-06", "failed", found_dead=True)
    assert fates() == [(1, True, 1.0, date(2019, 3, 1), date(2020, 5, 6))]


def test_good_as_far_as_it_was_seen(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01").report("2019-03-01", "working")
    assert fates() == [(1, False, 1.0, date(2019, 3, 1), None)]


def test_a_planned_recap_ends_the_first_set_good_and_begins_another(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2018-04-05", "recapped", because="planned").report("2021-01-02", "working")
    assert fates() == [
        (1, False, 1.0, date(2018, 4, 5), None),
        (2, False, 1.0, date(2021, 1, 2), None),
    ]


def test_another_cause_is_no_failure_of_the_set(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2018-04-05", "failed", cause="other")
    assert fates() == [(1, False, 1.0, date(2018, 4, 5), None)]


def test_an_unknown_cause_splits_the_machine(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2018-04-05", "failed", cause="unknown")
    day = date(2018, 4, 5)
    # Nothing else is known of causes: one half.
    assert fates() == [(1, True, 0.5, day, day), (1, False, 0.5, day, None)]
    assert fates(unknown_cause="capacitor") == [(1, True, 1.0, day, day)]
    assert fates(unknown_cause="other") == [(1, False, 1.0, day, None)]


def test_a_recap_because_of_a_reading_fails_only_where_asked(book, fates):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2018-04-05", "working").report("2018-06-07", "recapped", because="reading")
    assert fates()[0] == (1, False, 1.0, date(2018, 6, 7), None)
    first = fates(degraded_as="failed")[0]
    assert first[:3] == (1, True, 1.0)
    assert first[4] == date(2018, 6, 7)


def test_records_that_disagree_have_no_fate(book):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2015-01-01", "retired").report("2016-01-01", "working")
    assert build_fates(book.records(), as_of=NOW).is_empty()


def test_what_is_known_later_does_not_count(book):
    book.unit(manufactured="1998", enrolled_on="2014-01-01")
    book.report("2016-01-01", "working").report("2020-05-06", "failed")
    rows = build_fates(book.records(), as_of=date(2018, 1, 1)).select("failed", "after").rows()
    assert rows == [(False, date(2016, 1, 1))]
