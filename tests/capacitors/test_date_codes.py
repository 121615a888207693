from datetime import date

import pytest

from fleet.capacitors import date_code_candidates, earliest_made

TODAY = date(2026, 6, 30)


@pytest.mark.parametrize(
    ("code", "years"),
    [
        ("R3", [1983, 2003, 2023]),  # R = 2003: IEC 60062 as printed in public marking tables
        ("X9", [1989, 2009]),  # X = 2009, the same tables
        ("A1", [1970, 1990, 2010]),  # 20-year cycle: from memory
        ("1208", [2012]),  # 1208 = 2012 week 8: the same tables
        ("0443", [2004]),  # 0443 = 2004 week 43: a public part-marking page
        ("9812", [1998]),
    ],
)
def test_candidates_name_every_year_the_code_can_mean(code, years):
    found = date_code_candidates(code, not_after=TODAY)
    assert [c.latest.year for c in found] == years


def test_the_month_signs_after_nine_are_letters():
    october, november, december = (
        date_code_candidates(f"R{sign}", not_after=date(2010, 1, 1))[-1] for sign in "OND"
    )
    assert (october.earliest, october.latest) == (date(2003, 10, 1), date(2003, 10, 31))
    assert (november.earliest, november.latest) == (date(2003, 11, 1), date(2003, 11, 30))
    assert (december.earliest, december.latest) == (date(2003, 12, 1), date(2003, 12, 31))


def test_year_and_week_allows_for_makers_rules_of_week_one():
    (only,) = date_code_candidates("1208", not_after=TODAY)
    # Week 8 of 2012 by ISO 8601 is 20 to 26 February.
    assert only.earliest <= date(2012, 2, 20)
    assert date(2012, 2, 26) <= only.latest
    assert (only.latest - only.earliest).days <= 21


@pytest.mark.parametrize("code", ["", "9854", "9800", "G3", "I1", "RA", "hello", "12345"])
def test_what_fits_no_scheme_has_no_candidate(code):
    assert date_code_candidates(code, not_after=TODAY) == ()
    assert earliest_made(code, not_after=TODAY) is None


def test_a_part_is_no_younger_than_the_earliest_reading():
    assert earliest_made("R3", not_after=TODAY) == date(1983, 3, 1)
    # Nothing made after the day asked about is a candidate.
    assert date_code_candidates("1208", not_after=date(2011, 1, 1)) == ()
