"""One failure told by two people: one life, wherever the second telling falls."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

BUILT = "2001-01-01"


def age(day: str) -> float:
    return float((date.fromisoformat(day) - date.fromisoformat(BUILT)).days)


@pytest.fixture
def unit(book):
    return book.unit(manufactured=BUILT, enrolled_on="2010-01-01")


def once(table) -> list[bool]:
    return table.twice_told["counted_once"].to_list()


def test_the_second_telling_after_the_recap_is_no_early_failure_of_the_new_set(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report(
        "2021-05-10", "recapped", by="Ada", because="failure"
    ).report("2021-05-12", "failed", by="Bo").report("2021-09-01", "working", by="Ada")
    table = unit.build()
    low = age("2021-05-03")
    new = float((date(2021, 9, 1) - date(2021, 5, 10)).days)
    assert rows(table) == [
        (age("2010-01-01"), low, low, None, 1.0, "failed"),
        (0.0, 0.0 + new, None, None, 1.0, "working"),
    ]
    assert table.twice_told.select("first", "second", "days_apart", "counted_once").rows() == [
        ("reports1", "reports3", 9, True)
    ]
    assert "1 event was told by two people" in " ".join(table.notes)


def test_told_by_the_same_person_it_is_a_failure_of_the_new_set(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report("2021-05-10", "recapped", by="Ada").report(
        "2021-05-12", "failed", by="Ada"
    )
    assert [row[5] for row in rows(unit.build())] == ["failed", "failed"]


def test_nobody_named_is_nobody_else(unit, rows):
    unit.report("2021-05-03", "failed").report("2021-05-10", "recapped").report(
        "2021-05-12", "failed", by="Bo"
    )
    assert [row[5] for row in rows(unit.build())] == ["failed", "failed"]


def test_two_sources_are_two_tellers(unit, rows):
    unit.report("2021-05-03", "failed", source="one").report("2021-05-10", "recapped").report(
        "2021-05-12", "failed", source="two"
    )
    table = unit.build()
    assert once(table) == [True]
    assert sum(row[5] == "failed" for row in rows(table)) == 1


@pytest.mark.parametrize(
    ("after", "why"),
    [
        ([("2021-05-11", "working", {})], "it was seen working between them"),
        (
            [("2021-05-14", "recapped", {"because": "failure"})],
            "each was followed by a repair of its own",
        ),
        ([("2021-06-20", "retired", {})], "each was followed by a repair of its own"),
    ],
)
def test_what_speaks_for_two_failures_leaves_both(unit, rows, after, why):
    unit.report("2021-05-03", "failed", by="Ada").report(
        "2021-05-10", "recapped", by="Ada", because="failure"
    ).report("2021-05-12", "failed", by="Bo")
    for day, kind, more in after:
        unit.report(day, kind, by="Bo", **more)
    table = unit.build()
    assert sum(row[5] == "failed" for row in rows(table)) == 2
    pair = table.twice_told.filter(what="failure")
    assert pair.select("counted_once", "why").rows() == [(False, why)]


def test_last_known_working_after_the_recap_tells_two_failures(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report("2021-05-10", "recapped", by="Ada").report(
        "2021-05-12", "failed", by="Bo", last_known_working="2021-05-11"
    )
    assert sum(row[5] == "failed" for row in rows(unit.build())) == 2


def test_different_causes_are_not_made_one_after_a_repair(unit):
    unit.report("2021-05-03", "failed", by="Ada", cause="other").report(
        "2021-05-10", "repaired", by="Ada"
    ).report("2021-05-12", "failed", by="Bo", cause="capacitor")
    table = unit.build()
    assert table.twice_told.select("counted_once", "why").rows() == [
        (False, "they give different causes")
    ]


def test_a_cause_only_the_second_knows_is_kept(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada", cause="unknown").report(
        "2021-05-10", "recapped", by="Ada"
    ).report("2021-05-12", "failed", by="Bo", cause="capacitor")
    failed = [row for row in rows(unit.build()) if row[5] == "failed"]
    assert failed == [
        (age("2010-01-01"), age("2021-05-03"), age("2021-05-03"), None, 1.0, "failed")
    ]


def test_the_second_telling_dated_before_the_first(unit, rows):
    """No sight between: one failure, on the earlier of the two days."""
    unit.report("2021-05-03", "failed", by="Ada").report("2021-04-28", "failed", by="Bo").report(
        "2021-05-10", "recapped", by="Ada"
    )
    table = unit.build()
    assert [row[:3] for row in rows(table) if row[5] == "failed"] == [
        (age("2010-01-01"), age("2021-04-28"), age("2021-04-28"))
    ]
    assert once(table) == [True]


def test_too_far_apart(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report("2021-05-10", "recapped", by="Ada").report(
        "2021-06-03", "failed", by="Bo"
    )
    table = unit.build()
    assert table.twice_told.is_empty()
    assert sum(row[5] == "failed" for row in rows(table)) == 2


def test_a_recap_told_twice_starts_one_set(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report(
        "2021-05-10", "recapped", by="Ada", because="failure"
    ).report("2021-05-13", "recapped", by="Bo", because="failure", batch="B").report(
        "2022-05-13", "working"
    )
    table = unit.build()
    assert [row[5] for row in rows(table)] == ["failed", "working"]
    assert table.lives["batch"].to_list() == [None, "B"]
    assert table.twice_told.select("what", "counted_once").rows() == [("recap", True)]


def test_recaps_of_different_positions_are_two(unit):
    unit.report("2021-05-10", "recapped", by="Ada", positions="C1").report(
        "2021-05-13", "recapped", by="Bo", positions="C2"
    )
    assert once(unit.build()) == [False]


def test_three_tellings_are_one_failure(unit, rows):
    unit.report("2021-05-03", "failed", by="Ada").report("2021-05-10", "recapped", by="Ada").report(
        "2021-05-12", "failed", by="Bo"
    ).report("2021-05-20", "failed", by="Cy").report("2021-09-01", "working")
    table = unit.build()
    assert sum(row[5] == "failed" for row in rows(table)) == 1


def test_before_the_second_was_entered_nothing_was_told_twice(unit):
    unit.report("2021-05-03", "failed", by="Ada").report(
        "2021-05-12", "failed", by="Bo", entered_on="2021-05-20"
    )
    assert unit.build(date(2021, 5, 15)).twice_told.is_empty()
    assert once(unit.build(date(2021, 5, 20))) == [True]


@given(
    first=st.integers(0, 2000),
    repair=st.integers(0, 20),
    late=st.integers(-20, 28),
    seen=st.integers(1, 400),
)
def test_wherever_the_second_telling_falls_the_lives_are_those_of_one(
    new_book, first, repair, late, seen
):
    """As long as nothing was seen between; the earlier of the two days counts."""
    start = date(2011, 1, 1)

    def on(days):
        return str(start + timedelta(days=days))

    def story(book, *days):
        book.unit(manufactured=BUILT, enrolled_on="2010-01-01")
        for who, day in zip(("Ada", "Bo"), days, strict=False):
            book.report(on(day), "failed", by=who)
        book.report(on(first + repair), "recapped", by="Ada", because="failure")
        return book.report(on(first + 40 + seen), "working", by="Ada").build()

    told, plain = (
        story(new_book(), first, first + late),
        story(new_book(), min(first, first + late)),
    )
    columns = [c for c in plain.lives.columns if c != "reports"]
    assert_frame_equal(told.lives.select(columns), plain.lives.select(columns))
    assert_frame_equal(told.working.drop("reports"), plain.working.drop("reports"))
