"""The order of a window, worked by hand, and what must hold of any order."""

from types import SimpleNamespace

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.decisions.order import (
    LOTS,
    MAY_STAND,
    ORDER,
    PLACES,
    demand_of,
    order_lines,
    wanted_of,
)
from fleet.decisions.purchase import OFFERED, choose_offers
from fleet.decisions.spares import Losses, failing_machines
from fleet.errors import BadInput
from fleet.frames import check_frame

NO_LOSS = Losses(dud=0.0, slip=0.0, level=0.95, least=1)
CHEAP = [("HC-10", "X", 0.5, 1, 3.0), ("HC-47", "X", 2.0, 1, 3.0), ("OL-10", "X", 0.4, 1, 3.0)]


def places(*rows):
    return pl.DataFrame(rows, schema=PLACES, orient="row")


def offers(*rows):
    return pl.DataFrame(rows or CHEAP, schema=OFFERED, orient="row")


def lots(*rows):
    return pl.DataFrame(rows, schema=LOTS, orient="row")


def stand(*rows):
    return pl.DataFrame(rows, schema=MAY_STAND, orient="row")


def order_parts(rows, offered, **given):
    worth = offered.group_by("part").agg(worth=pl.col("price").min())
    demand = demand_of(rows, worth, **given)
    purchase = choose_offers(demand.needs, offered)
    lines = order_lines(rows, demand, purchase.lines)
    return SimpleNamespace(wanted=demand.wanted, taken=demand.taken, purchase=purchase, lines=lines)


def test_a_part_is_merged_across_positions_and_models_with_one_spare():
    """3 + 3 + 2 places and one spare: nine pieces bought, 4.50 and 3.00 to ship."""
    found = order_parts(
        places(("A", "C1", "HC-10", 3), ("A", "C2", "HC-10", 3), ("B", "C1", "HC-10", 2)),
        offers(),
        losses=NO_LOSS,
    )
    check_frame(found.lines, ORDER, name="order")
    assert found.wanted.rows() == [("HC-10", 8, 1, 1.0)]
    assert found.lines["spares"].sum() == 1
    assert found.lines["to_buy"].sum() == 9
    assert found.lines["quantity"].to_list() == [4, 3, 2]
    assert found.purchase.cost == pytest.approx(7.5)
    assert found.lines["cost"].sum() == pytest.approx(4.5)


def test_the_shelf_is_used_first_for_places_then_for_spares():
    found = order_parts(
        places(("A", "C1", "HC-10", 3)),
        offers(),
        losses=NO_LOSS,
        lots=lots((0, "HC-10", 5)),
        may_stand=stand(("A", "C1", 0, 0)),
    )
    line = found.lines.row(0, named=True)
    assert (line["quantity"], line["from_stock"], line["to_buy"]) == (4, 4, 0)
    assert line["supplier"] is None
    assert found.purchase.cost == 0.0


def test_another_part_on_the_shelf_fills_places_in_a_row_of_its_own():
    found = order_parts(
        places(("A", "C1", "HC-10", 3)),
        offers(),
        losses=NO_LOSS,
        lots=lots((0, "OL-10", 2)),
        may_stand=stand(("A", "C1", 0, 1)),
    )
    rows = {row["part"]: row for row in found.lines.iter_rows(named=True)}
    assert (rows["OL-10"]["needed"], rows["OL-10"]["from_stock"]) == (2, 2)
    assert (rows["HC-10"]["needed"], rows["HC-10"]["spares"], rows["HC-10"]["to_buy"]) == (1, 1, 2)


def test_a_part_nowhere_to_be_bought_may_come_from_the_shelf_whole():
    found = order_parts(
        places(("A", "C1", "ZZ-1", 1)),
        offers(),
        losses=NO_LOSS,
        lots=lots((0, "ZZ-1", 2)),
        may_stand=stand(("A", "C1", 0, 0)),
    )
    assert found.lines["to_buy"].to_list() == [0]
    with pytest.raises(BadInput, match="ZZ-1"):
        order_parts(places(("A", "C1", "ZZ-1", 2)), offers(), losses=NO_LOSS)


def test_machines_that_may_fail_ask_for_more_spares():
    """Forty others of the model at 0.05 each with two places a machine: 8 more at 95 %.

    Binomial(40, 0.05): P(at most 4) = 0.952, P(at most 3) = 0.862 (scipy.stats.binom).
    """
    wanted = wanted_of(
        places(("A", "C1", "HC-10", 3), ("A", "C2", "HC-10", 3)),
        NO_LOSS,
        {"A": failing_machines([0.05] * 40)},
    )
    assert wanted.row(0)[:3] == ("HC-10", 6, 8)
    assert wanted["chance_enough"][0] == pytest.approx(0.9520, abs=5e-4)


def test_least_quantities_show_as_more_to_buy():
    found = order_parts(
        places(("A", "C1", "HC-10", 1)), offers(("HC-10", "X", 0.1, 5, 0.0)), losses=NO_LOSS
    )
    line = found.lines.row(0, named=True)
    assert (line["quantity"], line["to_buy"]) == (2, 5)
    assert line["cost"] == pytest.approx(0.5)


def test_a_part_that_is_not_bought_stays_short():
    rows = places(("A", "C1", "HC-10", 3))
    demand = demand_of(
        rows,
        pl.DataFrame(schema={"part": pl.String, "worth": pl.Float64}),
        losses=NO_LOSS,
        lots=lots((0, "HC-10", 2)),
        may_stand=stand(("A", "C1", 0, 0)),
    )
    assert demand.needs.rows() == [("HC-10", 2)]
    nothing = choose_offers(demand.needs.clear(), offers()).lines
    line = order_lines(rows, demand, nothing).row(0, named=True)
    assert (line["quantity"], line["from_stock"], line["to_buy"]) == (4, 2, 0)
    assert line["cost"] == 0.0


def test_nothing_to_do_is_an_order_without_rows():
    found = order_parts(places(), offers(), losses=NO_LOSS)
    assert found.lines.is_empty()
    assert found.purchase.cost == 0.0


@st.composite
def _windows(draw):
    rows = []
    for model in "AB"[: draw(st.integers(1, 2))]:
        for position in ("C1", "C2", "C3")[: draw(st.integers(1, 3))]:
            part = draw(st.sampled_from(["HC-10", "HC-47"]))
            rows.append((model, position, part, draw(st.integers(1, 6))))
    held = [(i, p, draw(st.integers(0, 5))) for i, p in enumerate(["HC-10", "HC-47", "OL-10"])]
    fits = []
    for model, position, part, _ in rows:
        own = 0 if part == "HC-10" else 1
        fits.append((model, position, own, 0))
        if draw(st.booleans()):
            fits.append((model, position, 2, 1))
    return rows, held, fits


@settings(max_examples=30)
@given(_windows())
def test_pieces_add_up(window):
    rows, held, fits = window
    losses = Losses(dud=0.02, slip=0.03)
    found = order_parts(
        places(*rows), offers(), losses=losses, lots=lots(*held), may_stand=stand(*fits)
    )
    lines = found.lines
    assert lines.filter(pl.col("quantity") != pl.col("needed") + pl.col("spares")).is_empty()
    short = pl.col("from_stock") + pl.col("to_buy") < pl.col("quantity")
    asked = sum(units for *_, units in rows)
    assert lines["needed"].sum() == asked
    assert lines["spares"].sum() == found.wanted["spares"].sum()
    # Over all positions of a part nothing is short, whatever stands at which position.
    by_part = lines.group_by("part").agg(pl.col("quantity", "from_stock", "to_buy").sum())
    assert by_part.filter(short).is_empty()
    taken = found.taken.group_by("lot").agg(pl.col("pieces").sum())
    for lot, pieces in taken.iter_rows():
        assert pieces <= held[lot][2]
    assert lines["cost"].sum() == pytest.approx(found.purchase.lines["cost"].sum())
    assert lines["from_stock"].sum() == found.taken["pieces"].sum()
