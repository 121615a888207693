"""A part by what is printed on it."""

import pytest

from fleet.capacitors.read_facts import read_facts
from fleet.errors import BadInput


def test_the_usual_line():
    assert read_facts("1000uF 25V 105C 10x20 radial") == {
        "capacitance": "1000uF",
        "voltage": 25.0,
        "temperature": 105.0,
        "diameter_mm": 10.0,
        "length_mm": 20.0,
        "lead_form": "radial",
    }


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        ("470 µF, 16 V, 85 °C", {"voltage": 16.0, "temperature": 85.0}),
        ("4u7 50V ø5 x 11 mm", {"diameter_mm": 5.0, "length_mm": 11.0}),
        ("10uF 6.3x11 mm pitch 2.5", {"diameter_mm": 6.3, "lead_spacing_mm": 2.5}),
        ("100uF ±20% 850mA 0.05ohm 5000h", {"tolerance": "±20%", "ripple_ma": 850.0}),
        ("100uF 1.2A 40mohm", {"ripple_ma": 1200.0, "esr_ohm": 0.04}),
        ("4u7 film P15", {"lead_spacing_mm": 15.0}),
        ("4u7 film P 22.5mm", {"lead_spacing_mm": 22.5}),
        ("p15 film", {"capacitance": "p15"}),
        ("4u7 film 15 mm pitch", {"lead_spacing_mm": 15.0}),
        ("4u7 film 10x20 pitch 15", {"lead_spacing_mm": 15.0, "length_mm": 20.0}),
        ("4u7 film 400V AC", {"voltage": 400.0, "current": "ac"}),
        ("4u7 film 400 V~", {"voltage": 400.0, "current": "ac"}),
        ("4u7 film 400VDC", {"voltage": 400.0, "current": "dc"}),
        ("4u7 film 400V", {"voltage": 400.0, "current": None}),
        ("220nF X2 film 275VAC", {"safety_class": "X2", "technology": "film", "voltage": 275.0}),
        ("2n2 X1/Y2 ceramic", {"safety_class": "X1/Y2"}),
        ("10uF non-polar", {"polarity_note": "non-polar"}),
        ("10uF NP snap in", {"polarity_note": "non-polar", "lead_form": "snap-in"}),
        ("100uF aluminium polymer smd", {"technology": "aluminium polymer", "lead_form": "smd"}),
        ("50uF -10/+50", {"tolerance": "-10/+50"}),
        ("2000h@105C 47uF", {"rated_hours": 2000.0, "temperature": 105.0}),
    ],
)
def test_other_spellings(text, facts):
    got = read_facts(text)
    assert {key: got.get(key) for key in facts} == facts


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("25V 105C", "no capacitance"),
        ("", "no capacitance"),
        ("1000 25V", "'1000' has no unit"),
        ("1000uF 25V 35V", "voltage twice"),
        ("1000uF purple", "'purple' is not read"),
        ("4u7 film 15mm", "'15mm' alone may be pitch"),
        ("16 MF 450V", "is not read|has no unit"),
    ],
)
def test_what_is_not_read_is_said(text, word):
    with pytest.raises(BadInput, match=word):
        read_facts(text)
