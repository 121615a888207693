"""What a date code can mean, in a line and narrowed by a model."""

from datetime import date

import pytest

from fleet.errors import BadInput
from fleet.flow.part_code import code_readings, part_code

DAY = date(2026, 6, 30)


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("0443", "2004 by year and week"),
        ("R3", "1983 or 2003 or 2023 by IEC 60062 letters"),
        ("342", "1973 or 1983 or 1993 or 2003 or 2013 or 2023 by last digit of the year, and week"),
        ("9861", "not read as a date code: 61 is no week (weeks run from 01 to 53), and the other "
         "way round nor is 98"),
    ],
)  # fmt: skip
def test_every_year_is_offered_while_it_is_typed(code, said):
    assert code_readings(code, today=DAY) == [said]


def test_ages_are_those_of_the_day_asked_about():
    # March 2003 ends 8,492 days before 30 June 2026 and begins 8,522 before
    frame = part_code(None, "R3", as_of=DAY).frame
    row = frame.row(1, named=True)
    assert row["age_low"] == pytest.approx(8492 / 365.25)
    assert row["age_high"] == pytest.approx(8522 / 365.25)


def test_letters_warn_of_tables_that_are_a_year_late():
    # a public table prints N 2002 to V 2008, one year later than the others
    assert any("one year later" in note for note in part_code(None, "R3", as_of=DAY).notes)
    assert not any("one year later" in n for n in part_code(None, "0443", as_of=DAY).notes)


def test_a_demo_model_narrows(demo_store):
    answer = part_code(demo_store, "9852", as_of=DAY, model="DQ31")
    assert answer.frame["fits"].to_list() == ["factory part"]


def test_a_code_that_cannot_be_is_refused():
    with pytest.raises(BadInput, match="61 is no week"):
        part_code(None, "9861", as_of=DAY)
