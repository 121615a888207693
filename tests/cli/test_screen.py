"""Words for chances and limits on the screen."""

import polars as pl
import pytest

from fleet.cli.screen import one_batch, percent, percent_between, short, with_limits


@pytest.mark.parametrize(
    ("chance", "shown"),
    [
        (None, None),
        (0.0, "0 %"),
        (0.0004, "<0.1 %"),
        (0.01234, "1.23 %"),
        (0.5, "50 %"),
        (0.99999, ">99.9 %"),
        (1.0, "100 %"),
    ],
)
def test_percent(chance, shown):
    frame = pl.DataFrame({"p": [chance]}, schema={"p": pl.Float64})
    assert frame.select(percent("p"))["p"][0] == shown


@pytest.mark.parametrize(
    ("value", "low", "high", "shown"),
    [
        (3.14159, 2.2, 4.1, "3.14 (2.2 to 4.1)"),
        (3.14159, 2.2, None, "3.14 (from 2.2)"),
        (3.14159, None, 4.1, "3.14 (up to 4.1)"),
        (3.0, None, None, "3"),
        (None, 18.83, None, "from 18.8"),
        (None, None, None, None),
        (6863.4, 1234.5, 1e6, "6863 (1234 to 1000000)"),
    ],
)
def test_with_limits(value, low, high, shown):
    frame = pl.DataFrame(
        {"x": [value], "x_low": [low], "x_high": [high]},
        schema={"x": pl.Float64, "x_low": pl.Float64, "x_high": pl.Float64},
    )
    assert frame.select(with_limits("x"))["x"][0] == shown


def test_percent_between():
    frame = pl.DataFrame({"low": [0.1, None], "high": [0.25, None]})
    said = frame.select(percent_between("low", "high", name="limits"))["limits"]
    assert said.to_list() == ["10 to 25 %", None]


def test_short_keeps_three_figures():
    frame = pl.DataFrame({"x": [0.012345, 99.96, 1234.4]})
    assert frame.select(short(pl.col("x")))["x"].to_list() == ["0.0123", "100", "1234"]


def test_batches_by_position_are_said_so():
    frame = pl.DataFrame({"batch": ["LX-9803", "C1:LX-9803;C4:LX-0412", None]})
    assert frame.select(one_batch())["batch"].to_list() == ["LX-9803", "by position", None]
