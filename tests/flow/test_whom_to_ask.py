from datetime import date

import polars as pl

from fleet.flow.whom_to_ask import whom_to_ask

WORKING = pl.DataFrame(
    {
        "unit": ["A", "B", "C"],
        "model": ["M", "M", "N"],
        "last_known_working": [date(2020, 1, 1), date(2019, 1, 1), None],
    }
)
UNITS = pl.DataFrame(
    {"unit": ["A", "B"], "source": ["Club", "Shop"], "site": [None, "Attic"], "by": ["x", "y"]}
)
REPORTS = pl.DataFrame(
    [
        ("A", date(2019, 5, 1), date(2020, 3, 1), "1", "Odile"),
        ("A", date(2020, 1, 1), date(2020, 1, 1), "2", "Pim"),
        ("A", date(2020, 2, 1), date(2020, 2, 1), "3", None),
        ("B", None, date(2020, 2, 1), "4", None),
    ],
    schema=["unit", "date_latest", "entered_on", "record", "by"],
    orient="row",
)


def test_whoever_told_last_by_name_is_asked():
    found = whom_to_ask(["B", "A", "C"], WORKING, REPORTS, UNITS)
    assert found.rows() == [
        ("B", "M", date(2019, 1, 1), None, "Shop", "Attic"),
        ("A", "M", date(2020, 1, 1), "Pim", "Club", None),
        ("C", "N", None, None, None, None),
    ]


def test_nobody_to_ask():
    assert whom_to_ask([], WORKING, REPORTS, UNITS).is_empty()
