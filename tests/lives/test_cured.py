"""`cured=no`: a recap or repair that did not make the machine work, each reckoned by hand.

Days: 2000-01-01 + 366 = 2001-01-01; 2001-01-01 + 31 = 2001-02-01.
"""

from datetime import date

import polars as pl
import pytest

from fleet.lives.ends import NEVER_WORKED
from fleet.lives.fates import build_fates


@pytest.fixture
def unit(book):
    return book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")


def working(table):
    return table.working["unit"].to_list()


# A set fitted in vain


def test_parts_fitted_in_vain_are_no_life_and_the_machine_is_not_working(unit, rows):
    unit.report("2001-01-01", "failed")
    unit.report("2001-01-11", "recapped", because="failure", cured=False)
    table = unit.build()
    assert rows(table, "set_no") == [(0, 366, 366, None, 1, "failed", 1)]
    assert working(table) == []
    assert table.left_out.select("unit", "set_no", "reason").rows() == [("u", 2, NEVER_WORKED)]


@pytest.mark.parametrize("cured", [None, True])
def test_cured_or_blank_the_same_parts_are_a_life_from_new(unit, rows, cured):
    unit.report("2001-01-01", "failed")
    unit.report("2001-01-11", "recapped", because="failure", cured=cured)
    table = unit.build()
    assert rows(table, "set_no")[1] == (0, 0, None, None, 1, "lost_sight", 2)
    assert working(table) == ["u"]


def test_seen_working_later_they_enter_then(unit, rows):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    unit.report("2001-02-01", "working").report("2002-01-01", "failed")
    table = unit.build()
    # The factory set was good for 366 days. The new one came under observation 31 days old, in
    # use until the failure, 365 days old.
    assert rows(table, "set_no") == [
        (0, 366, None, None, 1, "planned", 1),
        (31, 365, 365, None, 1, "failed", 2),
    ]


def test_a_repair_that_cured_proves_the_parts_fitted_before_in_vain(unit, rows):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    unit.report("2001-02-01", "repaired", cured=True)
    table = unit.build()
    assert rows(table, "set_no")[1] == (31, 31, None, None, 1, "lost_sight", 2)
    assert working(table) == ["u"]
    assert table.working["last_known_working"].to_list() == [date(2001, 2, 1)]


def test_of_one_day_what_cured_comes_last(unit):
    # Ids put the repair before the recap; it is the later all the same.
    unit.report("2001-01-01", "repaired", cured=True)
    unit.report("2001-01-01", "recapped", because="failure", cured=False)
    assert working(unit.build()) == ["u"]


def test_two_recaps_of_one_day_of_which_one_cured_are_one_that_did(unit):
    unit.report("2001-01-01", "recapped", positions="C1", cured=False)
    unit.report("2001-01-01", "recapped", positions="C1;C2", cured=True)
    assert working(unit.build()) == ["u"]


def test_a_failure_told_before_it_ever_worked_is_no_failure_of_the_new_parts(unit, rows):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    unit.report("2001-01-05", "failed", cause="capacitor")
    table = unit.build()
    assert rows(table) == [(0, 366, None, None, 1, "planned")]
    assert [r["reason"] for r in table.left_out.iter_rows(named=True)] == [NEVER_WORKED]
    # Known to have worked in between by the report itself, it is one: 2 days old, failed at 4.
    unit.rows["reports"][-1]["last_known_working_earliest"] = date(2001, 1, 3)
    unit.rows["reports"][-1]["last_known_working_latest"] = date(2001, 1, 3)
    assert rows(unit.build())[1] == (2, 2, 4, None, 1, "failed")


def test_a_second_recap_ends_the_first_untold_and_is_ordinary(unit, rows):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    unit.report("2001-02-01", "recapped", because="failure", cured=True)
    unit.report("2001-02-11", "working")
    table = unit.build()
    assert rows(table, "set_no") == [
        (0, 366, None, None, 1, "planned", 1),
        (0, 10, None, None, 1, "working", 3),
    ]
    assert table.left_out.select("set_no", "reason").rows() == [(2, NEVER_WORKED)]
    # It answers no failure of set 2, which never worked.
    assert table.shares.select("capacitor", "other", "unknown").rows() == [(0, 0, 0)]


def test_a_swapped_board_in_vain_too(unit):
    unit.report("2001-01-01", "board_swapped", cured=False)
    assert working(unit.build()) == []


# What it says of the failure before it


@pytest.mark.parametrize(("cured", "cause"), [(None, "capacitor"), (False, "unknown")])
def test_new_parts_that_did_not_cure_are_no_word_that_the_old_ones_had_failed(unit, cured, cause):
    unit.report("2001-01-01", "failed", cause=None)
    unit.report("2001-01-11", "recapped", because="failure", cured=cured)
    counts = unit.build().shares.row(0, named=True)
    assert counts[cause] == 1
    assert counts["capacitor"] + counts["other"] + counts["unknown"] == 1


@pytest.mark.parametrize(("cured", "cause"), [(None, "capacitor"), (False, "unknown")])
def test_nor_are_they_of_a_failure_that_only_the_recap_tells_of(unit, cured, cause):
    unit.report("2001-01-11", "recapped", because="failure", cured=cured)
    assert unit.build().shares[cause].to_list() == [1]


def test_a_cause_that_was_told_stands(unit):
    unit.report("2001-01-01", "failed", cause="capacitor")
    unit.report("2001-01-11", "recapped", because="failure", cured=False)
    assert unit.build().shares["capacitor"].to_list() == [1]


# A repair in vain


def test_a_repair_in_vain_leaves_a_failed_machine_failed(unit, rows):
    unit.report("2001-01-01", "failed", cause="other")
    unit.report("2001-01-11", "repaired", cured=False)
    table = unit.build()
    assert working(table) == []
    assert rows(table) == [(0, 366, None, None, 1, "other_cause")]
    unit.report("2001-02-01", "working")
    table = unit.build()
    assert working(table) == ["u"]
    assert rows(table) == [(0, 397, None, None, 1, "working")]


def test_a_repair_in_vain_of_a_machine_nobody_said_had_failed(unit, rows):
    # Last seen working on day 366: no more is credited, and nothing says that a part failed.
    unit.report("2001-01-01", "working").report("2001-02-01", "repaired", cured=False)
    table = unit.build()
    assert rows(table) == [(0, 366, None, None, 1, "other_cause")]
    assert working(table) == []
    # A recap that ends it does not credit the days since either.
    unit.report("2001-03-01", "recapped", because="planned")
    table = unit.build()
    assert rows(table, "set_no")[0] == (0, 366, None, None, 1, "other_cause", 1)
    assert working(table) == ["u"]


def test_a_unit_enrolled_failed_is_not_seen_working_by_a_repair_in_vain(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2001-01-01", because="failed")
    book.report("2001-01-01", "failed", cause="other").report("2001-01-11", "repaired", cured=False)
    table = book.build()
    assert table.lives.is_empty()
    assert working(table) == []
    book.report("2001-02-01", "working").report("2001-03-01", "working")
    assert rows(book.build()) == [(397, 425, None, None, 1, "working")]


# Positions, the calendar, two tellers


def test_by_position_the_others_are_not_seen_working_either(unit):
    unit.add("positions", model="M", position="C1").add("positions", model="M", position="C2")
    unit.report("2001-01-01", "failed", positions="C1")
    unit.report("2001-01-11", "recapped", positions="C1", because="failure", cured=False)
    table = unit.build(by_position=True)
    got = table.lives.select("position", "set_no", "entry", "low", "high", "end").rows()
    assert got == [
        ("C1", 1, 0.0, 366.0, 366.0, "failed"),
        ("C2", 1, 0.0, 366.0, None, "other_cause"),
    ]


def test_by_the_calendar_nothing_is_known_of_parts_fitted_in_vain(unit):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    fates = build_fates(unit.records(), as_of=date(2025, 1, 1))
    assert fates.select("set_no", "failed", "after").rows() == [
        (1, False, date(2001, 1, 1)),
        (2, False, None),
    ]
    assert fates["share"].to_list() == [1.0, 1.0]


def test_two_tellers_of_one_recap_who_differ_in_the_outcome_are_not_joined(unit):
    unit.report("2001-01-01", "recapped", by="A", cured=False)
    unit.report("2001-01-05", "recapped", by="B", cured=True)
    pair = unit.build().twice_told.row(0, named=True)
    assert not pair["counted_once"]
    assert "another outcome" in pair["why"]


def test_what_is_not_told_or_cured_changes_nothing(book):
    def told(cured):
        other = type(book)().unit(manufactured="2000-01-01", enrolled_on="2000-06-01")
        other.report("2001-01-01", "failed", cause=None, cured=None)
        other.report("2001-01-11", "recapped", positions="C1", cured=cured)
        other.report("2001-02-01", "repaired", cured=cured).report("2002-01-01", "working")
        return other.build()

    for name in ("lives", "working", "left_out", "shares"):
        assert getattr(told(None), name).equals(getattr(told(True), name)), name


def test_a_unit_retired_after_a_recap_in_vain(unit, rows):
    unit.report("2001-01-01", "recapped", because="planned", cured=False)
    unit.report("2001-02-01", "retired")
    table = unit.build()
    assert rows(table) == [(0, 366, None, None, 1, "planned")]
    assert table.left_out["reason"].to_list() == [NEVER_WORKED]


def test_working_list_of_several_units(book):
    for name, cured in (("a", False), ("b", True), ("c", None)):
        book.unit(name, manufactured="2000-01-01", enrolled_on="2000-01-01")
        book.report("2001-01-01", "recapped", unit=name, cured=cured)
    assert book.build().working.select(pl.col("unit")).to_series().to_list() == ["b", "c"]
