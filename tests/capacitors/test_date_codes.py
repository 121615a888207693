"""Date codes against public marking tables; each source beside its check."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.capacitors import date_code_candidates, earliest_made
from fleet.capacitors.date_codes import read_date_code

TODAY = date(2026, 6, 30)


def usual(code, **kwargs):
    return [c for c in date_code_candidates(code, not_after=TODAY, **kwargs) if c.usual]


@pytest.mark.parametrize(
    ("code", "years"),
    [
        ("R3", [1983, 2003, 2023]),  # R = 2003: IEC 60062 as printed in public marking tables
        ("X9", [1989, 2009]),  # X = 2009, the same tables
        ("A1", [1970, 1990, 2010]),  # 20-year cycle: from memory
        ("1208", [2012]),  # 1208 = 2012 week 8: the same tables
        ("0443", [2004]),  # 0443 = 2004 week 43: a public part-marking page
        ("9812", [1998]),
        ("342", [1973, 1983, 1993, 2003, 2013, 2023]),  # 342 = 2003 week 42: the same page
        ("31203", [1973, 1983, 1993, 2003, 2013, 2023]),  # 31203 = 3 December 2003: the same page
        ("3A", [1973, 1983, 1993, 2003, 2013, 2023]),  # a maker's October: a public table
        ("3O", [1973, 1983, 1993, 2003, 2013, 2023]),  # IEC 60062, 10-year cycle: from memory
    ],
)
def test_candidates_name_every_year_the_code_can_mean(code, years):
    assert [c.latest.year for c in usual(code)] == years


def test_the_month_signs_after_nine_are_letters():
    october, november, december = (
        date_code_candidates(f"R{sign}", not_after=date(2010, 1, 1))[-1] for sign in "OND"
    )
    assert (october.earliest, october.latest) == (date(2003, 10, 1), date(2003, 10, 31))
    assert (november.earliest, november.latest) == (date(2003, 11, 1), date(2003, 11, 30))
    assert (december.earliest, december.latest) == (date(2003, 12, 1), date(2003, 12, 31))


def test_some_makers_months_after_nine_are_a_b_c():
    # a public table of such a scheme: A, B, C for October to December after a digit for the year
    for sign, month in zip("ABC", (10, 11, 12), strict=True):
        found = usual(f"4{sign}", not_before=date(2000, 1, 1))
        assert [(c.earliest.year, c.earliest.month) for c in found] == [
            (2004, month), (2014, month), (2024, month),
        ]  # fmt: skip
    assert date_code_candidates("RA", not_after=TODAY) == ()  # not after a letter


def test_year_and_week_allows_for_makers_rules_of_week_one():
    (only,) = usual("1208")
    # Week 8 of 2012 by ISO 8601 is 20 to 26 February.
    assert only.earliest <= date(2012, 2, 20)
    assert date(2012, 2, 26) <= only.latest
    assert (only.latest - only.earliest).days <= 21


@given(st.dates(min_value=date(1970, 1, 8), max_value=date(2026, 6, 1)))
def test_the_week_of_any_day_is_read_back(day):
    year, week, _ = day.isocalendar()
    found = date_code_candidates(f"{year % 100:02d}{week:02d}", not_after=TODAY)
    assert any(c.earliest <= day <= c.latest for c in found if c.scheme == "year and week")


def test_week_and_year_is_a_second_and_less_usual_reading():
    found = date_code_candidates("1208", not_after=TODAY)
    assert [(c.scheme, c.usual) for c in found] == [
        ("week and year", False),  # week 12 of 2008
        ("year and week", True),
    ]
    # 9852 read the other way round would be week 98
    assert [c.scheme for c in date_code_candidates("9852", not_after=TODAY)] == ["year and week"]


def test_year_and_day_of_the_year():
    (only,) = date_code_candidates("04366", not_after=TODAY)
    assert (only.earliest, only.usual) == (date(2004, 12, 31), False)  # 2004 is a leap year
    assert date_code_candidates("05366", not_after=TODAY) == ()


def test_one_sign_names_a_month_of_one_year_in_four():
    # letters without I and O, a year of twelve, then the next, then small letters: from memory
    found = date_code_candidates("b", not_after=TODAY)
    assert {c.earliest.month for c in found} == {2}
    assert not any(c.usual for c in found)
    upper = date_code_candidates("B", not_after=TODAY)
    assert {c.earliest for c in found} == {c.earliest for c in upper}  # makers begin apart
    assert date_code_candidates("I", not_after=TODAY) == ()


def test_letters_are_read_off_capacitors_only():
    assert read_date_code("R3", not_after=TODAY, on_capacitor=False).why_not.startswith("signs")
    assert usual("0443", on_capacitor=False) == usual("0443")


def test_build_years_narrow_the_candidates():
    model = {"not_before": date(1996, 1, 1)}
    assert [c.latest.year for c in usual("R3", **model)] == [2003, 2023]
    made = read_date_code("R3", not_before=date(1996, 1, 1), not_after=date(2007, 12, 31))
    assert [c.latest.year for c in made.candidates] == [2003]
    none = read_date_code("9852", not_before=date(2003, 1, 1), not_after=TODAY)
    assert none.candidates == ()
    assert none.why_not == "no reading of 9852 lies from 2003-01-01 to 2026-06-30"


@pytest.mark.parametrize("code", ["", "9854", "9800", "G3", "I1", "RA", "hello", "12399"])
def test_what_fits_no_scheme_has_no_candidate(code):
    assert date_code_candidates(code, not_after=TODAY) == ()
    assert earliest_made(code, not_after=TODAY) is None
    assert read_date_code(code, not_after=TODAY).why_not


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("9861", "61 is no week (weeks run from 01 to 53), and the other way round nor is 98"),
        ("6161", "61 is no week (weeks run from 01 to 53)"),
        (
            "2561",  # week 25 of 2061
            "61 is no week (weeks run from 01 to 53), and the other way round it lies not by "
            "2026-06-30",
        ),
        ("361", "61 is no week (weeks run from 01 to 53)"),
        ("31305", "no reading of 31305 lies by 2026-06-30"),  # day 305 of 2031, still to come
        ("12399", "23-99 is no month and day, and 399 is no day of a year"),
        ("G3", "G stands for no year (G, I, O, Q, Y and Z are not used)"),
        ("RA", "A stands for no month (they are 1 to 9, then O, N, D)"),
        ("", "there is nothing to read"),
    ],
)
def test_a_code_that_cannot_be_says_why(code, why):
    assert read_date_code(code, not_after=TODAY).why_not == why


def test_a_part_is_no_younger_than_the_earliest_reading():
    assert earliest_made("R3", not_after=TODAY) == date(1983, 3, 1)
    # week 12 of 2008, the less usual reading, bounds it as well
    assert earliest_made("1208", not_after=TODAY) == date(2008, 3, 11)
    # Nothing made after the day asked about is a candidate.
    assert date_code_candidates("1208", not_after=date(2008, 1, 1)) == ()


@given(st.text(max_size=8), st.dates(min_value=date(1975, 1, 1)))
def test_any_text_is_read_or_said_why_not(text, day):
    found = read_date_code(text, not_after=day)
    assert bool(found.candidates) == (found.why_not is None)
    assert all(c.earliest <= c.latest and c.earliest <= day for c in found.candidates)
