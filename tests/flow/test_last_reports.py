"""The last report of each unit, whole and brought up to date, is the same."""

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from fleet.flow.last_reports import last_reports

UNITS = pl.DataFrame(
    {"unit": ["U1", "U2", "U3"], "model": ["A", "A", "B"], "serial": [None, "7", None]}
)


def _reports(*rows):
    names = ("unit", "record", "kind", "date")
    frame = pl.DataFrame([dict(zip(names, row, strict=True)) for row in rows])
    day = pl.col("date").str.to_date()
    return frame.with_columns(date_earliest=day, date_latest=day)


FIRST = (
    ("U1", "r1", "working", "2020-01-01"),
    ("U1", "r2", "failed", "2021-01-01"),
    ("U2", "r3", "working", "2019-05-05"),
)


def test_by_hand():
    assert last_reports(_reports(*FIRST), UNITS).frame.rows() == [
        ("U1", "A", None, "2021-01-01", "failed"),
        ("U2", "A", "7", "2019-05-05", "working"),
        ("U3", "B", None, None, None),
    ]


@pytest.mark.parametrize(
    "later",
    [
        (*FIRST, ("U3", "r4", "working", "2022-02-02")),  # one came
        (*FIRST, ("U1", "r4", "note", "2018-02-02")),  # an older day, told later
        (FIRST[0], FIRST[2]),  # one was taken back
        (*FIRST[:2], ("U2", "r5", "failed", "2019-05-06")),  # one was corrected
        FIRST,
    ],
)
def test_brought_up_to_date_it_is_as_made_anew(later):
    before = last_reports(_reports(*FIRST), UNITS)
    again = last_reports(_reports(*later), UNITS, before)
    assert_frame_equal(again.frame, last_reports(_reports(*later), UNITS).frame)
    assert before.frame.rows() == last_reports(_reports(*FIRST), UNITS).frame.rows()


def test_the_last_unit_without_any_report_left_is_there_without_one():
    before = last_reports(_reports(*FIRST), UNITS)
    again = last_reports(_reports(*FIRST[:2]), UNITS, before)
    assert again.frame.filter(unit="U2").row(0) == ("U2", "A", "7", None, None)


def test_another_list_of_machines_is_taken_as_it_is():
    before = last_reports(_reports(*FIRST), UNITS)
    more = pl.concat([UNITS, pl.DataFrame({"unit": ["U0"], "model": ["C"], "serial": ["9"]})])
    again = last_reports(_reports(*FIRST), more, before)
    assert_frame_equal(again.frame, last_reports(_reports(*FIRST), more).frame)
