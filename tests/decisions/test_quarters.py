"""Calendar quarters after a day."""

from datetime import date

import pytest

from fleet.decisions.quarters import days_to_ends, quarters_after
from fleet.errors import BadInput


def days(as_of, count):
    return [(q.first.isoformat(), q.last.isoformat()) for q in quarters_after(as_of, count)]


def test_the_first_is_what_is_left_of_this_one():
    assert days(date(2024, 2, 10), 3) == [
        ("2024-02-11", "2024-03-31"),
        ("2024-04-01", "2024-06-30"),
        ("2024-07-01", "2024-09-30"),
    ]


def test_the_last_day_of_a_quarter_leaves_none_of_it():
    assert days(date(2025, 12, 31), 1) == [("2026-01-01", "2026-03-31")]
    assert days(date(2025, 12, 30), 1) == [("2025-12-31", "2025-12-31")]


def test_ends_in_days():
    spans = quarters_after(date(2023, 12, 31), 4)
    assert days_to_ends(date(2023, 12, 31), spans).tolist() == [91.0, 182.0, 274.0, 366.0]


@pytest.mark.parametrize("count", [0, -1, 121])
def test_numbers_that_cannot_be(count):
    with pytest.raises(BadInput, match="give 1 to 120"):
        quarters_after(date(2024, 1, 1), count)


def test_beyond_the_calendar():
    with pytest.raises(BadInput, match="ask for fewer"):
        quarters_after(date(9990, 1, 1), 60)
