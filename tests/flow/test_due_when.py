from datetime import date

import polars as pl

from fleet.flow.due_when import date_reached, day_reached, overdue

LIST = pl.DataFrame(
    {
        "due_on": [date(2026, 6, 30), date(2026, 6, 30), date(2028, 1, 1), None],
        "overdue_days": [365.4, 0.4, 0.0, None],
    }
)
REACHED = [date(2025, 6, 30), date(2026, 6, 30), date(2028, 1, 1), None]


def test_days_overdue_are_taken_off_the_date_of_the_list():
    found = LIST.select(reached=date_reached(), late=overdue())
    assert found["reached"].to_list() == REACHED
    assert found["late"].to_list() == [True, False, False, False]


def test_one_row_says_the_same():
    assert [day_reached(row) for row in LIST.iter_rows(named=True)] == REACHED
