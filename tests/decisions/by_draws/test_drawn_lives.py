"""Draws as arrays: what belongs together, weighted quantiles, blanks."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions.drawn_lives import DrawnLives, even_steps, hazard_at, quantiles
from fleet.errors import BadFrame
from fleet.frames import CELLS, DRAWS


def test_arrays_of_cells_and_draws(by_hand):
    cells = [
        by_hand.cell((2.0, 10.0, 0.5, 0.7), (3.0, 20.0, 1.5, 0.2), batch="K1"),
        by_hand.cell((4.0, 30.0), (5.0, 40.0), mean_c=28.0, sd_c=4.0),
    ]
    lives = by_hand.lives(*cells, weight=[0.25, 0.75])
    assert lives.draws == 2
    assert lives.shape.tolist() == [[2.0, 3.0], [4.0, 5.0]]
    assert np.exp(lives.log_scale) / by_hand.year == pytest.approx(np.array([[10, 20], [30, 40]]))
    assert lives.weight.tolist() == [[0.25, 0.75]] * 2
    assert lives.heat.tolist() == [[0.5, 1.5], [0.0, 0.0]]
    assert lives.tells_heat().tolist() == [False, True]
    assert lives.tells_use().tolist() == [False, False]


def test_frames_that_break_their_contract(by_hand):
    cells, draws = by_hand.frames(*by_hand.model((2.0, 10.0), (3.0, 12.0)))
    with pytest.raises(BadFrame, match="calendar"):
        DrawnLives.of(cells, draws.drop("calendar"))
    with pytest.raises(BadFrame, match="usual_c"):
        DrawnLives.of(cells.drop("usual_c"), draws)


def test_draws_that_do_not_fit_the_cells(by_hand):
    cells, draws = by_hand.frames(*by_hand.model((2.0, 10.0), (3.0, 12.0)))
    some = draws.filter(~((pl.col("cell") == 1) & (pl.col("draw") == 1)))
    for wrong in (draws.head(5), some, draws.filter(pl.col("cell") > 0), draws.clear()):
        with pytest.raises(BadFrame, match="do not fit"):
            DrawnLives.of(cells, wrong)


@pytest.mark.parametrize("order", ["reversed", "by draw", "one swapped"])
def test_draws_in_another_order_than_the_cells_are_refused(by_hand, order):
    # read in the order they come in they would be the draws of other cells
    cells, draws = by_hand.frames(*by_hand.model((2.0, 10.0), (3.0, 12.0)))
    wrong = {
        "reversed": draws.reverse(),
        "by draw": draws.sort("draw", "cell"),
        "one swapped": draws.with_columns(cell=pl.Series([0, 1, 0, 1, 2, 2])),
    }[order]
    with pytest.raises(BadFrame, match="do not fit"):
        DrawnLives.of(cells, wrong)


def test_no_cells_at_all():
    lives = DrawnLives.of(pl.DataFrame(schema=CELLS), pl.DataFrame(schema=DRAWS))
    assert lives.shape.shape[0] == 0
    assert not lives.tells_heat().any()


def test_hazard_is_zero_from_new_and_never_too_large_to_tell():
    found = hazard_at(
        np.array([3.0, 3.0, 18.0]), np.log([10.0, 10.0, 1.0]), np.array([0, 20, 1e30])
    )
    assert found[:2] == pytest.approx([0.0, 8.0])
    assert np.isfinite(found[2])


def test_even_steps_do_not_depend_on_how_many_follow():
    for place in (None, 7):
        found = even_steps(3, 10, 1, place)
        assert np.array_equal(found, even_steps(3, 10, 1, place))
        assert np.sort(found, axis=1) == pytest.approx(np.tile((np.arange(10) + 0.5) / 10, (3, 1)))


def test_rows_share_an_order_unless_each_has_a_place():
    assert len(np.unique(even_steps(5, 40, 1, None), axis=0)) == 1
    assert len(np.unique(even_steps(5, 40, 1, 0), axis=0)) == 5


@given(
    values=st.lists(
        st.tuples(st.one_of(st.floats(-1e6, 1e6), st.just(np.inf)), st.integers(1, 9)),
        min_size=1, max_size=30,
    ),
    share=st.floats(0.01, 0.99),
)  # fmt: skip
def test_weighted_quantiles_by_the_book(values, share):
    value, many = np.array(values).T
    found = quantiles(value[None], many[None] / many.sum(), (share,))[0][0]
    told = np.sort(np.repeat(value, many.astype(int)))
    # at least the share of the weight at or below it, less than the share below it
    assert (told <= found).mean() >= share - 1e-9
    assert (told < found).mean() < share + 1e-9
    assert found in value


def test_told_temperatures_do_not_depend_on_blanks_of_others(by_hand):
    lives = by_hand.lives(
        *by_hand.model(*[(3.0, 15.0, 1.0, 1.0)] * 20, mean_c=27.0, sd_c=5.0, mean_log_hours=7.0,
                       sd_log_hours=0.5)
    )  # fmt: skip
    cell = np.zeros(3, int)
    warm, hours = np.array([35.0, np.nan, 25.0]), np.array([2000.0, 2000.0, np.nan])
    found = lives.log_factor(cell, warm, hours, place=0)
    assert found[0] == pytest.approx(np.full(20, -np.log(2.0)))
    assert found[1].std() == pytest.approx(0.5 * np.log(2.0), rel=0.1)
    assert found[2] == pytest.approx(np.zeros(20))  # by the calendar alone: hours do not matter
