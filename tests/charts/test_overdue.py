"""Machines past their date, by how long."""

import polars as pl

from fleet.charts import ACTION_WORDS, count_overdue, draw_overdue
from fleet.charts.actions import bars


def late(due, *days):
    return due.with_columns(overdue_days=pl.Series(days, dtype=pl.Float64))


def test_counted_by_how_long_and_by_action(due):
    counts = count_overdue(late(due, 10.0, 365.25, 400.0, 0.0, None))
    assert counts.rows() == [
        ("under 1 year", "recap now", 1),
        ("1 to 2 years", "recap now", 1),
        ("1 to 2 years", "measure first", 1),
    ]


def test_every_step_has_its_bar_so_that_none_is_missed(due):
    drawn = draw_overdue(late(due, 10.0, 5000.0, 400.0, 0.0, None)).to_dict()
    assert drawn["layer"][0]["encoding"]["y"]["scale"]["domain"] == [
        "under 1 year", "1 to 2 years", "2 to 5 years", "5 to 10 years", "over 10 years",
    ]  # fmt: skip


def test_no_action_is_told_by_its_colour_alone():
    counts = pl.DataFrame({"action": list(ACTION_WORDS.values())})
    encoded = {name: one.to_dict() for name, one in bars(counts).items() if name != "order"}
    looks = list(
        zip(
            [shade == "transparent" for shade in encoded["fill"]["scale"]["range"]],
            [tuple(dash) for dash in encoded["strokeDash"]["scale"]["range"]],
            strict=True,
        )
    )
    # Now and when due never stand side by side: one is past its date, the other ahead of it.
    assert looks[0] == looks[1]
    assert len(set(looks[1:])) == len(looks) - 1


def test_nothing_overdue_is_an_empty_chart(due):
    assert draw_overdue(late(due, 0.0, None, None, None, None)).to_dict()["layer"]
