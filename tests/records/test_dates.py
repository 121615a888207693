"""Dates against the published examples, the rules declared in the module, and plain arithmetic."""

from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.records.dates import parse_edtf


def bounds(text, hemisphere="north"):
    row = parse_edtf([text], hemisphere=hemisphere).row(0, named=True)
    return row["earliest"], row["latest"], row["reason"]


# Examples of the Library of Congress' EDTF specification (4 February 2019, the profile that became
# ISO 8601-2:2019 Annex A), levels 0 and 1; the bounds follow from the definitions there, those of
# qualified dates from our declared widening.
PUBLISHED = [
    ("1985-04-12", "1985-04-12", "1985-04-12"),
    ("1985-04", "1985-04-01", "1985-04-30"),
    ("1985", "1985-01-01", "1985-12-31"),
    ("1964/2008", "1964-01-01", "2008-12-31"),
    ("2004-06/2006-08", "2004-06-01", "2006-08-31"),
    ("2004-02-01/2005-02-08", "2004-02-01", "2005-02-08"),
    ("2004-02-01/2005-02", "2004-02-01", "2005-02-28"),
    ("2004-02-01/2005", "2004-02-01", "2005-12-31"),
    ("2005/2006-02", "2005-01-01", "2006-02-28"),
    ("2001-21", "2001-03-01", "2001-05-31"),
    ("1984?", "1983-01-01", "1985-12-31"),
    ("2004-06~", "2004-05-01", "2004-07-31"),
    ("2004-06-11%", "2004-06-10", "2004-06-12"),
    ("201X", "2010-01-01", "2019-12-31"),
    ("20XX", "2000-01-01", "2099-12-31"),
    ("2004-XX", "2004-01-01", "2004-12-31"),
    ("1985-04-XX", "1985-04-01", "1985-04-30"),
    ("1985-XX-XX", "1985-01-01", "1985-12-31"),
    ("1985-04-12/..", "1985-04-12", None),
    ("1985-04/..", "1985-04-01", None),
    ("1985/..", "1985-01-01", None),
    ("../1985-04-12", None, "1985-04-12"),
    ("../1985-04", None, "1985-04-30"),
    ("../1985", None, "1985-12-31"),
    ("1984~/2004-06", "1983-01-01", "2004-06-30"),
    ("1984/2004-06~", "1984-01-01", "2004-07-31"),
    ("1984?/2004%", "1983-01-01", "2005-12-31"),
]


@pytest.mark.parametrize(("text", "earliest", "latest"), PUBLISHED)
def test_published_examples(text, earliest, latest):
    def day(iso):
        return None if iso is None else date.fromisoformat(iso)

    assert bounds(text) == (day(earliest), day(latest), None)


# Published examples of what we declare unsupported: level 2, times, and of level 1 the blank end
# ("unknown"), letter-prefixed and negative years.
@pytest.mark.parametrize(
    "text",
    ["1985-04-12T23:20:30", "Y170000002", "-1985", "1985-04-12/", "/1985", "2001-34", "1950S2",
     "[1667,1668]", "{1960,1961-12}", "156X-12-25", "XXXX-12-XX", "2004-06-~11", "?2004-06"],
)  # fmt: skip
def test_published_examples_beyond_what_is_supported_are_refused(text):
    assert bounds(text)[:2] == (None, None)
    assert bounds(text)[2]


@pytest.mark.parametrize("text", [t for t, _, _ in PUBLISHED if not set(t) & set("~?%.")])
def test_agrees_with_the_edtf_library_where_nothing_is_widened_or_open(text):
    import edtf

    there = edtf.parse_edtf(text)
    ours = bounds(text)
    assert date(*there.lower_strict()[:3]) == ours[0]
    assert date(*there.upper_strict()[:3]) == ours[1]


@pytest.mark.parametrize(
    ("text", "north", "south"),
    [
        ("1998-21", ("1998-03-01", "1998-05-31"), ("1998-09-01", "1998-11-30")),
        ("1998-22", ("1998-06-01", "1998-08-31"), ("1998-12-01", "1999-02-28")),
        ("1998-23", ("1998-09-01", "1998-11-30"), ("1998-03-01", "1998-05-31")),
        ("1999-24", ("1999-12-01", "2000-02-29"), ("1999-06-01", "1999-08-31")),
        ("1998-21~", ("1997-12-01", "1998-08-31"), ("1998-06-01", "1999-02-28")),
    ],
)
def test_seasons(text, north, south):
    assert [d.isoformat() for d in bounds(text)[:2]] == list(north)
    assert [d.isoformat() for d in bounds(text, "south")[:2]] == list(south)


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("199X~", date(1980, 1, 1), date(2009, 12, 31)),
        ("19XX?", date(1800, 1, 1), date(2099, 12, 31)),
        ("1998-XX~", date(1997, 1, 1), date(1999, 12, 31)),
        ("1998-07-XX%", date(1998, 6, 1), date(1998, 8, 31)),
        ("1998-03-01~", date(1998, 2, 28), date(1998, 3, 2)),
        ("0001~", date(1, 1, 1), date(2, 12, 31)),
        ("9999%", date(9998, 1, 1), date(9999, 12, 31)),
    ],
)
def test_signs_widen_by_one_unit_of_the_precision(text, earliest, latest):
    assert bounds(text) == (earliest, latest, None)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("14/07/1998", "year-month-day"),
        ("July 1998", "in figures"),
        ("19980714", "no hyphens"),
        ("1998/07/14", "no hyphens"),
        ("98", "century"),
        ("1998-7-4", "two digits"),
        ("1998-02-29", "no day of the calendar"),
        ("1998-13", "no day of the calendar"),
        ("2001/1998", "ends before it begins"),
        ("199x", "capital X"),
        ("199u", "write X"),
        ("../..", "leave the cell blank"),
        ("1998/", "1998/.."),
        ("1998-07-14T10:00", "time of day"),
        ("0000", "no date that can be read"),
        ("1998-21-03", "no day of the calendar"),
        ("x" * 100_000, "capital X"),
        ("1998/1999/2000", "no date that can be read"),
    ],
)
def test_refused_with_what_was_found_and_how_to_write_it(text, hint):
    earliest, latest, reason = bounds(text)
    assert (earliest, latest) == (None, None)
    assert hint in reason
    assert text[:20] in reason
    assert len(reason) < 200


def test_keeps_the_order_and_blank_cells():
    read = parse_edtf(pl.Series(["1999", None, "1998", " ", "1999 ", "x1"]))
    assert read["earliest"].to_list() == [
        date(1999, 1, 1), None, date(1998, 1, 1), None, date(1999, 1, 1), None,
    ]  # fmt: skip
    assert read["reason"].is_null().to_list() == [True, True, True, True, True, False]
    assert parse_edtf([]).height == 0
    assert parse_edtf([None, None]).height == 2


@given(st.dates(min_value=date(2, 1, 1), max_value=date(9998, 12, 31)))
def test_a_day_is_itself_and_a_sign_adds_a_day_on_each_side(day):
    text = day.isoformat()
    assert bounds(text) == (day, day, None)
    assert bounds(text + "~") == (day - timedelta(1), day + timedelta(1), None)
    assert bounds(f"{text}/..") == (day, None, None)


@given(st.dates(), st.dates())
def test_an_interval_runs_from_the_first_day_to_the_last(first, last):
    earliest, latest, reason = bounds(f"{first.isoformat()}/{last.isoformat()}")
    if first <= last:
        assert (earliest, latest, reason) == (first, last, None)
    else:
        assert (earliest, latest) == (None, None)
        assert "ends before it begins" in reason


@given(st.text(max_size=12))
def test_any_text_is_either_read_or_refused(text):
    earliest, latest, reason = bounds(text)
    blank = not pl.Series([text]).str.strip_chars()[0]
    assert (reason is None) == (blank or earliest is not None or latest is not None)
