"""Records that disagree keep their unit out of the lives, and both are named."""

import pytest


def refused(book):
    table = book.build()
    assert table.lives.is_empty()
    assert table.working.is_empty()
    assert "1 unit whose records disagree left out until they are amended" in table.notes
    assert table.left_out.height == 1
    return table.left_out.select("unit", "set_no", "reason", "reports").row(0)


def test_two_current_records_of_a_unit(book):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.unit(manufactured="2004", enrolled_on="2005-01-01")
    unit, set_no, reason, reports = refused(book)
    assert (unit, set_no, reports) == ("u", None, "units1;units2")
    assert "units1" in reason
    assert "units2" in reason


def test_the_same_unit_told_twice_is_one_unit(book):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    assert book.build().lives.height == 1


@pytest.mark.parametrize("kind", ["working", "failed", "recapped"])
def test_running_after_retired(book, kind):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("2002-01-01", "retired").report("2002-01-02", kind)
    assert refused(book)[2:] == (
        f"report reports1 says it was retired, report reports2 ({kind}) is later",
        "reports1;reports2",
    )


def test_last_known_working_after_retired(book):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("2002-01-01", "retired")
    book.report("2003-01-02", "stored", last_known_working="2002-06-01")
    assert refused(book)[3] == "reports1;reports2"


def test_dates_that_can_be_reconciled_are_no_disagreement(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    # Working some time in 2001 may well have been before the retirement in May.
    book.report("2001-05-01", "retired").report("2001", "working")
    assert rows(book.build()) == [(0, 366, None, None, 1, "retired")]


def test_failure_before_manufacture(book):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("1999-12-31", "failed")
    assert refused(book)[2:] == (
        "report reports1 (failed) speaks of a day before unit record units1 says it was built",
        "reports1;units1",
    )


def test_built_before_its_parts_or_outside_its_models_years(book):
    book.add("batches", batch="B1", made="2002")
    book.unit(manufactured="2001", enrolled_on="2003-01-01", batch="B1")
    assert refused(book)[3] == "units1;batches1"


def test_built_after_the_models_last_year(book):
    book.add("models", model="M", first_made="1990", last_made="1999")
    book.unit(manufactured="2001", enrolled_on="2003-01-01")
    assert refused(book)[3] == "units1;models1"


def test_enrolled_before_it_was_built(book):
    book.unit(manufactured="2001", enrolled_on="2000-01-01")
    assert refused(book)[3] == "units1"


def test_reported_before_its_parts_were_made(book):
    book.add("batches", batch="B1", made="2002")
    book.unit(enrolled_on="2003-01-01", batch="B1")
    book.report("2001-06-01", "working")
    assert refused(book)[3] == "reports1;batches1"


def test_parts_fitted_before_they_were_made(book):
    book.add("batches", batch="B1", made="2002")
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("2001-06-01", "recapped", batch="B1")
    assert refused(book)[3] == "reports1;batches1"


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"kind": "failed", "cause": "capacitor"}, {"kind": "failed", "cause": "other"}),
        ({"kind": "recapped", "batch": "B1"}, {"kind": "recapped", "batch": "B2"}),
        ({"kind": "recapped", "because": "planned"}, {"kind": "recapped", "because": "failure"}),
    ],
)
def test_two_reports_of_one_event_that_contradict(book, first, second):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("2002-01-01", **first).report("2002-01-01", **second)
    assert refused(book)[3] == "reports1;reports2"


def test_two_reports_of_one_event_that_agree_are_one(book, rows):
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2001-01-01", "failed", cause="unknown").report("2001-01-01", "failed")
    book.report("2001-01-03", "recapped", because="failure")
    book.report("2001-01-03", "recapped", batch="B2")
    assert rows(book.build(), "parts", "batch") == [
        (0, 366, 366, None, 1, "failed", "original", None),
        (0, 0, None, None, 1, "lost_sight", "replaced_known", "B2"),
    ]


def test_other_units_keep_their_lives(book):
    book.unit(manufactured="2000", enrolled_on="2001-01-01")
    book.report("1999-12-31", "failed")
    book.unit("v", manufactured="2000", enrolled_on="2001-01-01")
    assert book.build().lives["unit"].to_list() == ["v"]
