"""Parts held against places, as records tell of them."""

import polars as pl
import pytest

from fleet.errors import BadInput, NotKnown
from fleet.flow.parts import parts_of, stand_ins_of
from fleet.frames import empty_frame, known_schema

PLACE = {
    "model": "BM-2",
    "position": "C2",
    "capacitance": "470uF",
    "tolerance": "20%",
    "voltage": 16.0,
    "temperature": 105.0,
    "diameter_mm": 10.0,
    "length_mm": 16.0,
    "lead_form": "radial",
    "lead_spacing_mm": 5.0,
    "clearance_mm": 1.0,
    "headroom_mm": 30.0,
    "ground_referenced": True,
    "grounded_end": "negative",
    "technology": "aluminium",
}
OFFER = {
    **{
        k: v
        for k, v in PLACE.items()
        if k not in ("model", "position", "headroom_mm", "grounded_end")
    },
    "clearance_mm": None,
    "ground_referenced": None,
    "supplier": "Parts post",
    "price": 1.0,
}


def frame(kind, rows):
    whole = known_schema(kind)
    full = [{name: row.get(name) for name in whole} for row in rows]
    return pl.DataFrame(full, schema=whole) if rows else empty_frame(whole)


def records(places=(PLACE,), offers=(), stock=()):
    return {
        "models": frame("models", [{"model": "BM-2", "aliases": "BM2;bread two"}]),
        "positions": frame("positions", places),
        "offers": frame("offers", offers),
        "stock": frame("stock", stock),
    }


def offer(part, **changes):
    return {**OFFER, "part": part, **changes}


def test_what_fits_comes_first_and_what_is_refused_most_last():
    offers = [
        offer("far", voltage=10.0, temperature=85.0),
        offer("near", voltage=10.0),
        offer("care", lead_spacing_mm=3.5),
        offer("good"),
    ]
    found = stand_ins_of(records(offers=offers))
    assert found.frame["part"].to_list() == ["good", "care", "near", "far"]
    assert found.frame.columns == [
        *("model", "position", "part", "verdict", "measure_first", "reasons")
    ]


def test_positions_come_in_the_order_people_count():
    places = [{**PLACE, "position": name} for name in ("C10", "C2", "C1")]
    found = stand_ins_of(records(places, [offer("P")]))
    assert found.frame["position"].to_list() == ["C1", "C2", "C10"]


def test_offers_at_several_prices_and_what_lies_on_the_shelf_are_parts_once():
    offers = [offer("P", price=1.0), offer("P", price=0.8), offer("Q")]
    stock = [
        {"part": "Q", "quantity": 3},
        {"part": "Q", "quantity": 4},
        {"part": "R", "quantity": 1},
    ]
    parts = parts_of(records(offers=offers, stock=stock))
    assert parts["part"].to_list() == ["P", "Q", "R"]
    assert parts["on_shelf"].to_list() == [None, 7, 1]
    # A part nobody described is all questions, not a part that fits.
    found = stand_ins_of(records(offers=offers, stock=stock), parts=["R"])
    assert found.frame["verdict"].to_list() == ["facts_not_known"]
    assert "voltage of the part" in found.frame["measure_first"].to_list()[0]
    said = [reason["sentence"] for reason in found.frame["reasons"].to_list()[0]]
    assert said[0].startswith("its facts are not known")


def test_a_model_is_found_by_its_other_names():
    found = stand_ins_of(records(offers=[offer("P")]), model="bread two", position="c2")
    assert found.frame["model"].to_list() == ["BM-2"]


def test_a_part_typed_by_its_facts_is_judged_alone():
    text = "470uF 20% 25V 105C 10x16 radial pitch5 aluminium"
    found = stand_ins_of(records(offers=[offer("P")]), model="BM-2", position="C2", facts=text)
    assert found.frame.select("part", "verdict").rows() == [("typed facts", "fits")]


@pytest.mark.parametrize(
    ("ask", "word"),
    [
        ({"model": "DH-9"}, "no place is recorded for the model DH-9"),
        ({"model": "BM-2", "position": "C9"}, "there is no position C9 on BM-2; there are C2"),
        ({"parts": ["nothing"]}, "there is no part nothing"),
    ],
)
def test_a_name_nobody_recorded_is_said(ask, word):
    with pytest.raises(NotKnown, match=word):
        stand_ins_of(records(offers=[offer("P")]), **ask)


def test_a_place_without_voltage_is_not_judged_alone():
    places = [{**PLACE, "voltage": None}]
    with pytest.raises(BadInput, match="BM-2 C2 has no voltage on record"):
        stand_ins_of(records(places, [offer("P")]), model="BM-2", position="C2")
    found = stand_ins_of(records(places, [offer("P")]), model="BM-2")
    assert found.frame["measure_first"].to_list() == [["voltage"]]
    assert "BM-2 C2: measure before ordering: voltage" in found.notes
    assert found.frame["verdict"].to_list() == ["facts_not_known"]
    assert "no voltage is recorded" in found.frame["reasons"].to_list()[0][0]["sentence"]


def test_capacitance_refuses_also_where_the_place_has_no_voltage():
    places = [{**PLACE, "voltage": None, "capacitance": "1000uF"}]
    offers = [offer("BIG", capacitance="4700uF", voltage=10.0)]
    found = stand_ins_of(records(places, offers), model="BM-2")
    assert found.frame["verdict"].to_list() == ["does_not_fit"]
    assert found.frame["measure_first"].to_list() == [[]]


@pytest.mark.parametrize("missing", ["voltage", "capacitance"])
def test_a_part_without_voltage_or_capacitance_is_never_chosen(missing):
    from fleet.flow.best_part import best_part_for

    told = records(offers=[offer("P", **{missing: None})])
    row = best_part_for(told, "BM-2").row(0, named=True)
    assert row["part"] is None
    assert "its facts are not known" in " ".join(row["sentences"])


def test_contradictory_facts_of_what_was_named_end_it_and_of_others_are_said():
    places = [{**PLACE, "lead_spacing_mm": 15.0}]
    with pytest.raises(BadInput, match=r"BM-2 C2: leads 15 mm apart .* 10 mm across"):
        stand_ins_of(records(places, [offer("P")]), model="BM-2", position="C2")
    offers = [offer("P"), offer("Q", voltage=-16.0)]
    with pytest.raises(BadInput, match="Q: the voltage is -16"):
        stand_ins_of(records(offers=offers), parts=["Q"])
    found = stand_ins_of(records(offers=offers), model="BM-2", position="C2")
    assert any(note.startswith("Q: the voltage is -16") for note in found.notes)


def test_a_part_with_two_sets_of_facts_is_judged_by_neither():
    """Either could come in the post; which one decides is nobody's guess."""
    from fleet.flow.best_part import best_part_for

    offers = [
        offer("P1", voltage=35.0, supplier="A"),
        offer("P1", capacitance="4700uF", voltage=10.0, supplier="B"),
        offer("Q"),
        offer("Q", capacitance="0.47 mF", supplier="B"),  # the same, in another spelling
    ]
    told = records(offers=offers)
    with pytest.raises(
        BadInput, match=r"P1: its offers contradict each other \(capacitance 470 µF"
    ):
        stand_ins_of(told, parts=["P1"])
    found = stand_ins_of(told)
    assert found.frame["part"].to_list() == ["Q"]
    assert any(note.startswith("P1: its offers contradict") for note in found.notes)
    assert best_part_for(told, "BM-2")["part"].to_list() == ["Q"]
    only = records(offers=offers[:2])
    assert best_part_for(only, "BM-2")["part"].to_list() == [None]


def test_a_place_where_nothing_goes_in_is_said():
    offers = [offer("far", voltage=10.0, temperature=85.0), offer("near", voltage=10.0)]
    found = stand_ins_of(records(offers=offers))
    assert found.notes == (
        "BM-2 C2: none of the parts that can be had goes in; near comes nearest",
    )
    assert stand_ins_of(records(offers=[*offers, offer("good")])).notes == ()


def test_without_offers_there_is_nothing_to_judge():
    assert stand_ins_of(records()).frame.is_empty()
