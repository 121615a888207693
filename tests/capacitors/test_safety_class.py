"""X and Y capacitors only by their class: IEC 60384-14, from memory."""

import pytest

from fleet.capacitors.stand_in import judge_stand_in

FILM = {
    "capacitance": "100nF",
    "tolerance": "20%",
    "voltage": 275.0,
    "temperature": 105.0,
    "diameter_mm": 6.0,
    "length_mm": 12.0,
    "lead_form": "radial",
    "lead_spacing_mm": 5.0,
    "technology": "film",
}
REFUSED = "does_not_fit"


def verdict(asked, given, **changes):
    place = {**FILM, "safety_class": asked, "current": "ac"}
    return judge_stand_in(place, {**FILM, "safety_class": given, **changes}).verdict


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ("X2", "X2"),
        ("X2", "X1"),
        ("X1", "X1"),
        ("X3", "X2"),
        ("Y2", "Y2"),
        ("Y2", "Y1"),
        ("Y4", "Y2"),
        ("Y3", "Y3"),
        ("X2", "X1/Y2"),
        ("Y2", "X1/Y2"),
        ("X1/Y2", "X1/Y1"),
        ("x2", "X2"),
    ],
)
def test_the_same_class_or_a_higher_one_of_the_letter_fits(asked, given):
    assert verdict(asked, given) == "fits"


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ("X1", "X2"),
        ("Y1", "Y2"),
        ("Y2", "X2"),
        ("Y2", "X1"),
        ("X2", "Y2"),  # its class only: a part for both is marked with both
        ("X1/Y2", "X1"),
        ("Y2", "Y4"),
        ("Y4", "Y3"),
        ("X2", None),
        ("Y2", None),
        ("X9", "X2"),
    ],
)
def test_anything_else_is_refused(asked, given):
    assert verdict(asked, given) == REFUSED


def test_an_electrolytic_is_refused_whatever_is_written_on_it():
    assert verdict("X2", "X2", technology="aluminium") == REFUSED


def test_a_lower_voltage_is_refused_within_the_class_too():
    assert verdict("X2", "X2", voltage=250.0) == REFUSED


def test_more_capacitance_to_earth_is_refused_for_its_touch_current():
    found = judge_stand_in(
        {**FILM, "capacitance": "2n2", "safety_class": "Y2"},
        {**FILM, "capacitance": "3n3", "safety_class": "Y2"},
    )
    assert found.verdict == REFUSED
    assert any("touch current" in one.sentence for one in found.reasons)


def test_a_place_between_the_lines_without_a_class_asks_for_it():
    place = {**FILM, "role": "across the mains"}
    found = judge_stand_in(place, {**FILM, "safety_class": "X2"})
    assert found.verdict == "fits_with_care"
    assert "safety class" in found.measure_first


def test_the_source_is_the_standard():
    found = judge_stand_in({**FILM, "safety_class": "X2"}, FILM)
    told = [one for one in found.reasons if one.point == "safety class"]
    assert [one.source for one in told] == ["IEC 60384-14 (from memory)"]
