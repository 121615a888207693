"""A failure told by several people is one failure."""

from datetime import date

import polars as pl

from fleet.flow.failures_once import failures_once

DAY = date(2025, 5, 3)


def _reports(*rows):
    names = ("record", "unit", "day", "cause", "positions", "source")
    frame = pl.DataFrame(rows, schema=names, orient="row", infer_schema_length=None)
    return frame.select(
        "record", "unit", "cause", "positions", "source", kind=pl.lit("failed"),
        date_earliest="day", date_latest="day",
    ).cast({"cause": pl.String, "positions": pl.String})  # fmt: skip


def _pairs(*pairs):
    rows = [(first, second, once, "failure") for first, second, once in pairs]
    return pl.DataFrame(rows, schema=["first", "second", "counted_once", "what"], orient="row")


def test_three_tellings_are_one_with_the_cause_that_one_gives():
    reports = _reports(
        ("c", "U1", date(2025, 5, 12), "other", None, "y"),
        ("a", "U1", DAY, "unknown", None, "x"),
        ("b", "U1", date(2025, 5, 8), None, "C2", "x"),
        ("d", "U2", DAY, None, None, "x"),
    )
    pairs = _pairs(("a", "b", True), ("b", "c", True), ("a", "c", True))
    found = failures_once(reports, pairs).sort("record")
    assert found["record"].to_list() == ["a", "d"]
    assert found["tellings"].to_list() == [3, 1]
    assert found["cause"].to_list() == ["other", None]
    assert found["position_named"].to_list() == [True, False]
    # x told it twice, y once
    by_source = failures_once(reports, pairs, within=("source",))
    assert by_source.group_by("source").len().sort("source").rows() == [("x", 2), ("y", 1)]


def test_pairs_in_doubt_stay_two_and_the_same_day_is_one():
    reports = _reports(
        ("a", "U1", DAY, None, None, "x"),
        ("b", "U1", date(2025, 5, 8), None, None, "x"),
        ("c", "U1", DAY, None, None, "y"),
        ("d", "U1", None, None, None, "y"),
        ("e", "U1", None, None, None, "y"),
    )
    found = failures_once(reports, _pairs(("a", "b", False)))
    assert sorted(found["record"]) == ["a", "b", "d", "e"]
    assert failures_once(reports, pl.DataFrame()).height == 4
    assert failures_once(reports.clear(), pl.DataFrame()).is_empty()
