"""Rows put into groups, against Polars' own grouping."""

import numpy as np
import polars as pl
import pytest

from fleet.fits.grouping import group_order


@pytest.mark.parametrize("groups", [1, 7, 70_000])
def test_against_polars(groups):
    rng = np.random.default_rng(groups)
    frame = pl.DataFrame(
        {
            "a": rng.integers(0, groups, 90_000).astype(str),
            "b": rng.integers(0, 3, 90_000),
            "row": np.arange(90_000),
        }
    ).with_columns(b=pl.when(pl.col("b") < 2).then("b"))
    keys, starts, order = group_order(frame, ["a", "b"])
    want = frame.group_by("a", "b", maintain_order=True).agg("row")
    assert keys.equals(want.select("a", "b"))
    assert np.diff(starts).tolist() == want["row"].list.len().to_list()
    assert order.tolist() == want["row"].explode().to_list()


def test_rows_in_order_are_left_so():
    frame = pl.DataFrame({"g": ["x", "x", "y", None, None]})
    keys, starts, order = group_order(frame, ["g"])
    assert order is None
    assert keys["g"].to_list() == ["x", "y", None]
    assert starts.tolist() == [0, 2, 3, 5]


def test_no_rows_and_no_columns():
    empty = pl.DataFrame(schema={"g": pl.String})
    keys, starts, _ = group_order(empty, ["g"])
    assert keys.height == 0
    assert starts.tolist() == [0]
    _, starts, order = group_order(pl.DataFrame({"g": ["x", "y"]}), [])
    assert order is None
    assert starts.tolist() == [0, 2]
