"""The chart of a part's life by the air beside it."""

import polars as pl
import pytest

from fleet.charts import draw_part_life
from fleet.errors import BadFrame

LIVES = pl.DataFrame(
    {"air_c": [40.0, 50.0, 60.0], "years": [15.0, 15.0, 10.0], "years_by_rule": [40.0, 20.0, 10.0]}
)


def test_claimed_years_the_rule_and_a_dot():
    chart = draw_part_life(LIVES, air_c=51.0).to_dict()
    rule, line, dot = chart["layer"]
    assert rule["encoding"]["y"]["field"] == "years_by_rule"
    assert line["encoding"]["y"]["field"] == "years"
    assert line["encoding"]["y"]["scale"]["domain"] == [0.0, 30.0]
    (where,) = chart["datasets"][dot["data"]["name"]]
    assert where["air_c"] == 50.0


def test_a_column_that_lacks_is_said():
    with pytest.raises(BadFrame, match="years_by_rule"):
        draw_part_life(LIVES.drop("years_by_rule"), air_c=50.0)
