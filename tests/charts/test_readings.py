from datetime import date

import polars as pl
import pytest

from fleet.charts import MOST_GROUPS, draw_readings
from fleet.errors import BadInput

DAY = date(2022, 6, 28)


def held(*rows):
    return pl.DataFrame(
        rows,
        schema={"position": pl.String, "on": pl.Date, "stage": pl.String, "share": pl.Float64,
                "value": pl.Float64},
        orient="row",
    )  # fmt: skip


def test_before_and_after_one_job_stand_side_by_side_and_the_limit_is_drawn():
    rows = held(("C1", DAY, "after", 0.4, 0.7), ("C1", DAY, "before", 2.8, 5.0))
    spec = draw_readings(rows, title="ESR, of its limit", value="ESR (ohm)").to_dict()
    limit, line, points = spec["layer"]
    assert limit["mark"]["type"] == "rule"
    assert points["encoding"]["x"]["sort"] == ["2022-06-28 before", "2022-06-28 after"]
    assert line["encoding"]["y"]["scale"]["type"] == "log"
    low, high = line["encoding"]["y"]["scale"]["domain"]
    assert low < 0.4
    assert high > 2.8


def test_a_share_that_is_missing_or_nothing_is_not_drawn():
    rows = held(
        ("C1", DAY, None, None, None), ("C2", DAY, None, 0.0, 0.0), ("C3", DAY, None, 0.5, 1.0)
    )
    spec = draw_readings(rows, title="t", value="v").to_dict()
    drawn = [d for d in spec["datasets"].values() if "position" in d[0]]
    assert [row["position"] for d in drawn for row in d] == ["C3"]


def test_more_positions_than_can_be_told_apart_are_refused():
    rows = held(*((f"C{i}", DAY, None, 0.5, 1.0) for i in range(MOST_GROUPS + 1)))
    with pytest.raises(BadInput, match="choose fewer"):
        draw_readings(rows, title="t", value="v")
