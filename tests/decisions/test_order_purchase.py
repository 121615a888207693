"""The cheapest purchase: by hand, and against every way of buying."""

import itertools

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions.purchase import NEEDS, OFFERED, choose_offers
from fleet.errors import BadInput


def needs(**pieces):
    return pl.DataFrame(list(pieces.items()), schema=NEEDS, orient="row")


def offers(*rows):
    return pl.DataFrame(rows, schema=OFFERED, orient="row")


def test_shipping_decides_between_suppliers():
    """Apart: 10 x 0.10 + 5 and 1 x 1 + 3 = 10; all at Y: 10 x 0.30 + 1 + 3 = 7."""
    found = choose_offers(
        needs(A=10, B=1),
        offers(("A", "X", 0.10, 1, 5.0), ("A", "Y", 0.30, 1, 3.0), ("B", "Y", 1.0, 1, 3.0)),
    )
    assert found.cost == pytest.approx(7.0)
    assert found.lines["supplier"].to_list() == ["Y", "Y"]
    assert found.shipping.rows() == [("Y", 3.0)]


def test_one_more_to_reach_a_price_break_where_it_is_cheaper():
    """Nine at 0.70 cost 6.30, ten at 0.52 cost 5.20."""
    both = offers(("A", "X", 0.70, 1, 3.5), ("A", "X", 0.52, 10, 3.5))
    line = choose_offers(needs(A=9), both).lines.row(0, named=True)
    assert (line["pieces"], line["unit_price"]) == (10, 0.52)
    assert choose_offers(needs(A=9), both).cost == pytest.approx(5.20 + 3.5)
    line = choose_offers(needs(A=7), both).lines.row(0, named=True)
    assert (line["pieces"], line["unit_price"]) == (7, 0.70)


def test_least_quantity_is_bought_whole():
    line = choose_offers(needs(A=2), offers(("A", "X", 0.11, 5, 6.0))).lines.row(0, named=True)
    assert line["pieces"] == 5
    assert line["cost"] == pytest.approx(0.55)


def test_nothing_needed_ships_nothing():
    found = choose_offers(needs(A=0, B=-3), offers(("A", "X", 1.0, 1, 5.0)))
    assert found.cost == 0.0
    assert found.lines.is_empty()


def test_a_supplier_who_was_not_named_is_one():
    found = choose_offers(needs(A=3), offers(("A", None, 1.0, None, None)))
    assert found.cost == pytest.approx(3.0)
    assert found.lines["supplier"].to_list() == [None]
    assert found.shipping.height == 1


def test_parts_without_a_price_are_named():
    with pytest.raises(BadInput, match="no offer with a price for B"):
        choose_offers(needs(A=1, B=1), offers(("A", "X", 1.0, 1, 0.0), ("B", "X", None, 1, 0.0)))


def _every_way(wanted, offered):
    """The least cost over every choice of one offer a part, pieces split nowhere."""
    best = float("inf")
    by_part = [[o for o in offered if o[0] == part] for part in wanted]
    for chosen in itertools.product(*by_part):
        goods = sum(o[2] * max(wanted[o[0]], o[3]) for o in chosen)
        charges = {}
        for o in offered:
            charges[o[1]] = max(charges.get(o[1], 0.0), o[4])
        best = min(best, goods + sum(charges[s] for s in {o[1] for o in chosen}))
    return best


@st.composite
def _markets(draw):
    wanted = {p: draw(st.integers(1, 12)) for p in "ABC"[: draw(st.integers(1, 3))]}
    charges = {s: draw(st.integers(0, 12)) / 2 for s in "XYZ"}
    offered = []
    for part in wanted:
        for supplier in draw(st.sets(st.sampled_from("XYZ"), min_size=1)):
            for least in draw(st.sets(st.sampled_from([1, 5, 10]), min_size=1, max_size=2)):
                price = draw(st.integers(1, 300)) / 100
                offered.append((part, supplier, price, least, charges[supplier]))
    return wanted, offered


@given(_markets())
def test_no_way_of_buying_is_cheaper(market):
    wanted, offered = market
    found = choose_offers(needs(**wanted), offers(*offered))
    assert found.cost == pytest.approx(_every_way(wanted, offered), abs=1e-9)
    by_part = dict(found.lines.select("part", "pieces").iter_rows())
    assert all(by_part[part] >= pieces for part, pieces in wanted.items())
    used = found.shipping["supplier"].to_list()
    assert sorted(set(found.lines["supplier"])) == used


@given(_markets(), st.data())
def test_splitting_a_need_over_two_offers_is_never_cheaper(market, data):
    """What lets one offer a part be enough: two offers' pieces moved to the cheaper of the two."""
    wanted, offered = market
    part = data.draw(st.sampled_from(sorted(wanted)))
    mine = [o for o in offered if o[0] == part]
    one, two = data.draw(st.sampled_from(mine)), data.draw(st.sampled_from(mine))
    share = data.draw(st.integers(0, wanted[part]))
    first, second = max(share, one[3]), max(wanted[part] - share, two[3])
    split = one[2] * first + two[2] * second
    assert min(o[2] * max(wanted[part], o[3]) for o in (one, two)) <= split + 1e-9


def test_many_parts_and_suppliers_are_quick():
    parts = [f"P{i}" for i in range(300)]
    rows = [
        (part, f"S{s}", 0.1 + ((7 * i + 11 * s) % 23) / 20, 1, 2.0 + s)
        for i, part in enumerate(parts)
        for s in range(8)
    ]
    found = choose_offers(needs(**dict.fromkeys(parts, 3)), offers(*rows))
    assert found.lines.height == 300
