"""Rule 9: board lives are the first failure of the board; lives by position are each its own."""

import pytest


@pytest.fixture
def two(book):
    """A board with C1 and C4, new and enrolled on the first day of 2000."""
    for position in ("C1", "C4"):
        book.add("positions", model="M", position=position)
    return book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01", batch="C1:B7;C4:B9")


def by_position(book, rows, **options):
    return rows(book.build(by_position=True, **options), "position", "set_no", "batch", "parts")


def test_named_position_fails_and_the_others_live_on(two, rows):
    two.report("2001-01-01", "failed", positions="C4")
    two.report("2001-01-01", "recapped", positions="C4", because="failure", batch="B11")
    two.report("2002-01-01", "working")
    # C4 failed at 366, its successor was seen at 365; C1 went through both and was seen at 731.
    assert sorted(by_position(two, rows), key=lambda r: r[6:8]) == [
        (0, 731, None, None, 1, "working", "C1", 1, "B7", "original"),
        (0, 366, 366, None, 1, "failed", "C4", 1, "B9", "original"),
        (0, 365, None, None, 1, "working", "C4", 2, "B11", "replaced_known"),
    ]
    # The board: one failure, then a set that is part old.
    assert rows(two.build(), "parts") == [
        (0, 366, 366, None, 1, "failed", "original"),
        (0, 365, None, None, 1, "working", "partial"),
    ]


def test_the_others_are_censored_at_the_failure_when_all_are_replaced(two, rows):
    two.report("2001-01-01", "failed", positions="C4")
    two.report("2001-01-02", "recapped", because="failure")
    first = [r for r in by_position(two, rows) if r[7] == 1]
    assert [(r[1], r[2], r[5], r[6]) for r in first] == [
        (366, None, "other_cause", "C1"),
        (366, 366, "failed", "C4"),
    ]


def test_planned_recap_of_one_position(two, rows):
    two.report("2001-01-01", "recapped", positions="C1", because="planned")
    got = sorted((r[6], r[7], r[1], r[5]) for r in by_position(two, rows))
    # Recapping showed the machine working: C4 is credited to that day too.
    assert got == [
        ("C1", 1, 366, "planned"),
        ("C1", 2, 0, "lost_sight"),
        ("C4", 1, 366, "working"),
    ]


def test_failure_at_a_position_not_told_is_left_out(two):
    two.report("2001-01-01", "failed")
    table = two.build(by_position=True)
    assert table.lives.is_empty()
    assert table.left_out.select("unit", "set_no", "reason").rows() == [
        ("u", 1, "it failed at a position that was not told")
    ]


def test_a_model_with_one_position_needs_no_telling(book, rows):
    book.add("positions", model="M", position="C1")
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01", batch="B7")
    book.report("2001-01-01", "failed")
    assert by_position(book, rows) == [(0, 366, 366, None, 1, "failed", "C1", 1, "B7", "original")]


def test_positions_are_learnt_from_reports(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", positions="C4")
    book.unit("v", manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "recapped", unit="v", positions="C1; C4", because="planned")
    table = book.build(by_position=True)
    assert set(table.lives["position"]) == {"C1", "C4"}


def test_unknown_cause_at_a_named_position_is_split_there_only(two, rows):
    two.report("2001-01-01", "failed", positions="C4", cause="unknown")
    got = sorted((r[6], r[5], r[4]) for r in by_position(two, rows))
    assert got == [("C1", "other_cause", 1), ("C4", "failed", 0.5), ("C4", "other_cause", 0.5)]


def test_no_position_known_is_said(book):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    table = book.build(by_position=True)
    assert table.lives.is_empty()
    assert table.working.height == 1
    assert "no position of its model is known" in table.left_out["reason"][0]
