"""The share of variation that lies between positions, by hand."""

import math

import polars as pl
import pytest

from fleet.flow.suspects_positions import shares_by_position


def _rows(model, failures, effects, shape=2.0):
    n = len(failures)
    return pl.DataFrame(
        {"model": [model] * n, "parts": ["original"] * n, "failures": failures,
         "effect": effects, "shape": [shape] * n}
    )  # fmt: skip


def test_two_positions_by_hand():
    # 10 failures each, lives e times apart: variance 1/4, less (2 / 20) / 4.
    found = shares_by_position(_rows("M", [10.0, 10.0], [1.0, math.e]))
    between = 0.25 - 0.1 / 4
    within = math.pi**2 / 6 / 4
    assert found["share"].item() == pytest.approx(between / (between + within))


def test_chance_alone_leaves_nothing_and_few_failures_say_nothing():
    alike = _rows("M", [5.0, 5.0], [1.0, 1.05])
    assert shares_by_position(alike)["share"].item() == 0.0
    few = _rows("M", [9.0, 2.0], [1.0, 2.0])
    assert shares_by_position(few).is_empty()
    unknown = _rows("M", [9.0, 9.0], [None, None]).with_columns(pl.col("effect").cast(pl.Float64))
    assert shares_by_position(unknown).is_empty()
