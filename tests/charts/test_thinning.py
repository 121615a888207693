"""Thinned curves against whole ones, measured in pixels as they are drawn."""

from itertools import pairwise

import numpy as np
import polars as pl
import pytest

from fleet.charts.thinning import HALF, thin_dots, thin_steps

WIDE, TALL = 800, 440  # of the chart that is promised; pages draw up to 1,200 pixels wide
HEIGHTS = ("survival", "survival_low", "survival_high")


def a_curve(group, machines, seed, *, supported_to=0.9):
    """A step curve of that many machines, one failing after another, with limits that widen."""
    random = np.random.default_rng(seed)
    age = np.sort(random.weibull(3.0, machines) * 12.0)
    survival = 1.0 - np.arange(1, machines + 1) / machines
    wide = 0.01 + 0.004 * age
    return pl.DataFrame(
        {
            "group": [group] * machines,
            "age": age,
            "survival": survival,
            "survival_low": np.clip(survival - wide, 0.0, 1.0),
            "survival_high": np.clip(survival + wide, 0.0, 1.0),
            "supported": age <= np.quantile(age, supported_to),
        }
    )


def drawn(curve, height, right, *, spacing=0.2):
    """Points of the staircase every `spacing` pixels along treads and risers: x and y in pixels."""
    x = curve["age"].to_numpy() / right * WIDE
    y = (1.0 - curve[height].to_numpy()) * TALL
    corners = [(x[0], y[0])]
    for i in range(1, len(x)):
        corners += [(x[i], y[i - 1]), (x[i], y[i])]
    points = [np.array(corners)]
    for (x0, y0), (x1, y1) in pairwise(corners):
        steps = int(max(abs(x1 - x0), abs(y1 - y0)) / spacing)
        if steps:
            points.append(np.linspace((x0, y0), (x1, y1), steps + 2)[1:-1])
    return np.concatenate(points)


def farthest(whole, thinned, height, right):
    """The largest distance, in pixels across or up, from a point of one line to the other."""
    from scipy.spatial import cKDTree

    one, other = drawn(whole, height, right), drawn(thinned, height, right, spacing=0.02)
    return cKDTree(other).query(one, p=np.inf)[0].max()


@pytest.mark.parametrize("machines", [50, 3_000, 100_000])
def test_no_line_moves_by_more_than_half_a_pixel(machines):
    whole = a_curve("a", machines, seed=machines)
    thinned = thin_steps(whole, heights=HEIGHTS)
    right = whole["age"].max()
    for height in HEIGHTS:
        # points are 0.02 pixels apart, so the nearest may lie that much farther than the line
        assert farthest(whole, thinned, height, right) <= HALF + 0.02


def test_the_measure_sees_a_curve_that_is_off():
    whole = a_curve("a", 3_000, seed=1)
    moved = whole.with_columns(pl.col("survival") - 2.0 / TALL)
    assert farthest(whole, moved, "survival", whole["age"].max()) > 1.0


def test_a_hundred_thousand_machines_are_some_hundred_points():
    whole = a_curve("a", 100_000, seed=0)
    assert thin_steps(whole, heights=HEIGHTS).height < 1_000


def test_few_points_that_can_be_seen_are_left_alone():
    curve = a_curve("a", 12, seed=3)
    assert thin_steps(curve, heights=HEIGHTS).equals(curve)


def test_ends_and_borders_of_what_is_supported_stay():
    whole = pl.concat([a_curve("a", 9_000, seed=4), a_curve("b", 9_000, seed=5, supported_to=0.5)])
    thinned = thin_steps(whole, heights=HEIGHTS)
    for group in ("a", "b"):
        all_of_it, kept = whole.filter(group=group), thinned.filter(group=group)
        assert kept["age"].is_sorted()
        for side in (True, False):
            ages, shown = (f.filter(supported=side)["age"] for f in (all_of_it, kept))
            assert (shown[0], shown[-1]) == (ages[0], ages[-1])


def test_both_sides_of_a_stretch_without_a_limit_stay():
    curve = a_curve("a", 5_000, seed=6).with_row_index("row")
    gap = pl.col("row").is_between(2_000, 2_010)
    curve = curve.with_columns(survival_high=pl.when(~gap).then("survival_high"))
    kept = set(thin_steps(curve, heights=HEIGHTS)["row"])
    assert {1_999, 2_000, 2_010, 2_011} <= kept


def test_one_age_and_no_rows_do_not_fail():
    curve = a_curve("a", 5, seed=7).with_columns(age=pl.lit(0.0))
    assert thin_steps(curve, heights=HEIGHTS)["age"].to_list()[0] == 0.0
    assert thin_steps(curve.clear(), heights=HEIGHTS).is_empty()
    assert thin_dots(curve.clear(), across="age", up=HEIGHTS, spans=(1.0, 1.0)).is_empty()


def test_the_callers_frame_is_left_alone():
    whole = a_curve("a", 9_000, seed=8)
    before = whole.clone()
    thin_steps(whole, heights=HEIGHTS)
    assert whole.equals(before)


def test_dots_upon_one_another_are_one_and_each_has_a_near_one():
    from scipy.spatial import cKDTree

    whole = a_curve("a", 30_000, seed=9)
    right = whole["age"].max()
    kept = thin_dots(whole, across="age", up=HEIGHTS, spans=(right, 1.0))
    assert kept.height < 3_000

    def places(frame):
        return np.column_stack(
            [frame["age"] / right * WIDE, *(frame[height] * TALL for height in HEIGHTS)]
        )

    assert cKDTree(places(kept)).query(places(whole), p=np.inf)[0].max() <= 1.0
