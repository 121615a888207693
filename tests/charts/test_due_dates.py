from datetime import date

import polars as pl

from fleet.charts import count_by_quarter, draw_due_dates


def test_units_are_counted_by_quarter_and_action(due):
    assert count_by_quarter(due).rows() == [
        (date(2026, 1, 1), "recap now", 2),
        (date(2026, 1, 1), "measure first", 1),
        (date(2026, 10, 1), "recap when due", 1),
    ]


def test_later_than_asked_is_not_counted(due):
    assert count_by_quarter(due, until=date(2026, 6, 30))["units"].sum() == 3


def test_empty_quarters_leave_a_gap(due):
    x = draw_due_dates(due).to_dict()["layer"][0]["encoding"]["x"]
    assert x["scale"]["domain"] == ["2026 Q1", "2026 Q2", "2026 Q3", "2026 Q4"]


def test_what_is_past_its_date_stands_before_the_first_quarter(due):
    late = due.with_columns(overdue_days=pl.Series([400.0, 0.4, 20.0, 0.0, None]))
    bars = draw_due_dates(late).to_dict()
    assert bars["layer"][0]["encoding"]["x"]["scale"]["domain"] == [
        "past its date", "2026 Q1", "2026 Q2", "2026 Q3", "2026 Q4",
    ]  # fmt: skip
    rows = next(data for data in bars["datasets"].values() if data)
    assert sorted((row["name"], row["action"], row["units"]) for row in rows) == [
        ("2026 Q1", "recap now", 1),
        ("2026 Q4", "recap when due", 1),
        ("past its date", "measure first", 1),
        ("past its date", "recap now", 1),
    ]


def test_numbers_are_written_in_the_bars(due):
    spec = draw_due_dates(due).to_dict()
    assert spec["layer"][1]["mark"]["type"] == "text"
    assert spec["layer"][1]["encoding"]["text"]["field"] == "units"


def test_only_actions_that_occur_are_in_the_legend(due):
    colour = draw_due_dates(due).to_dict()["layer"][0]["encoding"]["stroke"]
    assert colour["scale"]["domain"] == ["recap now", "recap when due", "measure first"]


def test_nothing_due_is_an_empty_chart(due):
    never = due.with_columns(due_on=pl.lit(None, pl.Date))
    assert draw_due_dates(never).to_dict()["layer"]
