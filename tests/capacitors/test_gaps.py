"""Places that cannot be ordered for yet."""

import polars as pl

from fleet.capacitors.gaps import position_gaps

WHOLE = {
    "model": "BM-2",
    "position": "C1",
    "capacitance": "470uF",
    "voltage": 25.0,
    "temperature": 105.0,
    "lead_form": "radial",
    "diameter_mm": 10.0,
    "length_mm": 16.0,
    "safety_class": None,
    "role": None,
}


def gaps(**changes):
    row = {**WHOLE, **changes}
    schema = {"voltage": pl.Float64, "temperature": pl.Float64}
    found = position_gaps(pl.DataFrame([row], schema_overrides=schema))
    return found["missing"].to_list()


def test_a_whole_place_has_none():
    assert gaps() == []


def test_each_fact_that_an_order_needs_is_named():
    assert gaps(voltage=None) == [["voltage"]]
    assert gaps(capacitance=None, temperature=None) == [["capacitance", "temperature"]]
    assert gaps(diameter_mm=None, length_mm=None) == [["diameter", "length"]]
    assert gaps(lead_form=None) == [["lead form"]]


def test_a_capacitance_without_unit_is_no_capacitance():
    assert gaps(capacitance="470") == [["capacitance"]]


def test_a_safety_capacitor_needs_its_class_and_no_temperature():
    assert gaps(safety_class="X2", temperature=None, current="ac") == []
    assert gaps(safety_class="X2", temperature=None) == [["current"]]
    assert gaps(role="across the mains") == [["safety class", "current"]]
    assert gaps(role="across the mains", current="ac") == [["safety class"]]


def test_no_places_no_gaps():
    assert position_gaps(pl.DataFrame([WHOLE]).clear()).is_empty()
