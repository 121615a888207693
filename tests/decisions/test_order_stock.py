"""What the shelf gives: by hand, and against every way of sharing it out."""

import itertools

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions.from_stock import take_from_stock
from fleet.errors import BadInput

WANTED = {"want": pl.Int64, "pieces": pl.Int64, "worth": pl.Float64}
LOTS = {"lot": pl.Int64, "pieces": pl.Int64}
PAIRS = {"lot": pl.Int64, "want": pl.Int64, "preference": pl.Int64}


def take(wanted, lots, pairs):
    return take_from_stock(
        pl.DataFrame(wanted, schema=WANTED, orient="row"),
        pl.DataFrame(lots, schema=LOTS, orient="row"),
        pl.DataFrame(pairs, schema=PAIRS, orient="row"),
    )


def test_pieces_go_where_they_save_most():
    """One lot of 3 fits a place for a part at 2.40 (2 wanted) and one at 0.30 (2 wanted)."""
    found = take([(0, 2, 0.30), (1, 2, 2.40)], [(0, 3)], [(0, 0, 0), (0, 1, 0)])
    assert found.sort("want").rows() == [(0, 0, 1), (0, 1, 2)]


def test_own_part_first_where_the_saving_is_the_same():
    found = take([(0, 1, 1.0)], [(0, 1), (1, 1)], [(0, 0, 1), (1, 0, 0)])
    assert found.rows() == [(1, 0, 1)]


def test_a_lot_makes_room_for_another():
    """Lot 0 may go to both, lot 1 only to want 0: both wants are met."""
    found = take([(0, 1, 1.0), (1, 1, 1.0)], [(0, 1), (1, 1)], [(0, 0, 0), (0, 1, 0), (1, 0, 1)])
    assert found.sort("lot").rows() == [(0, 1, 1), (1, 0, 1)]


def test_without_a_price_the_shelf_is_used_all_the_more():
    found = take([(0, 1, None), (1, 1, 9.0)], [(0, 1)], [(0, 0, 0), (0, 1, 0)])
    assert found.rows() == [(0, 0, 1)]


def test_nothing_on_the_shelf_nothing_taken():
    assert take([(0, 1, 1.0)], [], []).is_empty()
    assert take([(0, 0, 1.0)], [(0, 3)], [(0, 0, 0)]).is_empty()


def test_pieces_below_zero_are_refused():
    with pytest.raises(BadInput, match="below zero"):
        take([(0, 1, 1.0)], [(0, -1)], [(0, 0, 0)])


@given(
    wants=st.lists(st.tuples(st.integers(1, 2), st.integers(1, 9)), min_size=1, max_size=3),
    lots=st.lists(st.integers(1, 2), min_size=1, max_size=2),
    data=st.data(),
)
def test_no_other_sharing_saves_more(wants, lots, data):
    every = list(itertools.product(range(len(lots)), range(len(wants))))
    pairs = data.draw(st.lists(st.sampled_from(every), unique=True, min_size=1))
    found = take(
        [(i, pieces, float(worth)) for i, (pieces, worth) in enumerate(wants)],
        list(enumerate(lots)),
        [(lot, want, 0) for lot, want in pairs],
    )
    saved = sum(wants[want][1] * pieces for _, want, pieces in found.iter_rows())
    best = 0
    for moved in itertools.product(range(3), repeat=len(pairs)):
        used = [sum(m for m, p in zip(moved, pairs, strict=True) if p[0] == i) for i in range(2)]
        met = [sum(m for m, p in zip(moved, pairs, strict=True) if p[1] == i) for i in range(3)]
        if all(u <= n for u, n in zip(used, lots, strict=False)) and all(
            m <= n for m, (n, _) in zip(met, wants, strict=False)
        ):
            best = max(best, sum(w * m for m, (_, w) in zip(met, wants, strict=False)))
    assert saved == best
