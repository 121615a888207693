from datetime import date

import pytest

from fleet.decisions.plan_months import days_to_middles, months_from
from fleet.errors import BadInput


def test_the_first_month_is_what_is_left_of_this_one():
    months = months_from(date(2026, 11, 21), 3)
    assert [(m.first, m.last) for m in months] == [
        (date(2026, 11, 21), date(2026, 11, 30)),
        (date(2026, 12, 1), date(2026, 12, 31)),
        (date(2027, 1, 1), date(2027, 1, 31)),
    ]
    assert [m.name for m in months] == ["2026-11", "2026-12", "2027-01"]
    assert months[0].share == pytest.approx(10 / 30)
    assert months[1].share == 1.0


def test_the_last_day_of_a_month_is_a_day_of_it():
    (month,) = months_from(date(2024, 2, 29), 1)
    assert (month.days, month.share) == (1, 1 / 29)


def test_middles_by_hand():
    """21 to 30 November: the middle is 4.5 days after the 21st; December's 10 + 15."""
    day = date(2026, 11, 21)
    assert days_to_middles(day, months_from(day, 2)).tolist() == [4.5, 25.0]


def test_no_months_and_beyond_the_calendar():
    with pytest.raises(BadInput, match="give 1 to 120"):
        months_from(date(2026, 1, 1), 0)
    with pytest.raises(BadInput, match="beyond the calendar"):
        months_from(date(9998, 1, 1), 24)
