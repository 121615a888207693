"""Facts that cannot all be true: one sentence each. Common practice, no source."""

import polars as pl
import pytest

from fleet.capacitors.contradictory import contradictions

RADIAL = {
    "part": "KR-470",
    "capacitance": "470uF",
    "tolerance": "20%",
    "voltage": 25.0,
    "temperature": 105.0,
    "diameter_mm": 10.0,
    "length_mm": 16.0,
    "lead_form": "radial",
    "lead_spacing_mm": 5.0,
    "headroom_mm": 30.0,
    "clearance_mm": 1.0,
    "technology": "aluminium",
    "safety_class": None,
}
AXIAL = {**RADIAL, "lead_form": "axial", "length_mm": 25.0, "lead_spacing_mm": 32.0}


def said(row, **changes):
    frame = pl.DataFrame([{**row, **changes}], infer_schema_length=None)
    return contradictions(frame, of=["part"])["sentence"].to_list()


@pytest.mark.parametrize("row", [RADIAL, AXIAL])
def test_what_can_be_true_says_nothing(row):
    assert said(row) == []


@pytest.mark.parametrize(
    ("row", "changes", "word"),
    [
        (RADIAL, {"voltage": 0.0}, "the voltage is 0"),
        (RADIAL, {"voltage": -25.0}, "the voltage is -25"),
        (RADIAL, {"diameter_mm": 0.0, "lead_spacing_mm": None}, "the diameter is 0"),
        (RADIAL, {"temperature": 1050.0}, "1050 °C"),
        (RADIAL, {"clearance_mm": -1.0}, "clearance"),
        (RADIAL, {"capacitance": "470"}, "write 470uF, 470nF or 470pF"),
        (RADIAL, {"capacitance": "16 MF"}, "does not name one value"),
        (RADIAL, {"capacitance": "0uF"}, "zero"),
        (RADIAL, {"tolerance": "wide"}, "tolerance wide"),
        (RADIAL, {"lead_spacing_mm": 12.0}, "do not come out of a radial body 10 mm across"),
        (RADIAL, {"headroom_mm": 12.0}, "16 mm high and the height under the cover 12 mm"),
        (AXIAL, {"diameter_mm": 30.0}, "wrong way round"),
        (AXIAL, {"lead_spacing_mm": 5.0}, "are a radial part's"),
        (RADIAL, {"safety_class": "Z9"}, "Z9 is no safety class"),
        (RADIAL, {"safety_class": "X2"}, "film or ceramic"),
    ],
)
def test_each_contradiction_is_one_sentence(row, changes, word):
    sentences = said(row, **changes)
    assert len(sentences) == 1
    assert word in sentences[0]


def test_low_radial_and_snap_in_cans_may_be_wider_than_long():
    assert said(RADIAL, diameter_mm=10.0, length_mm=9.0) == []
    assert said(RADIAL, lead_form="snap-in", diameter_mm=35.0, length_mm=25.0) == []


def test_rows_keep_their_order():
    rows = [{**RADIAL, "part": name, "voltage": -1.0} for name in ("B", "A", "C")]
    assert contradictions(pl.DataFrame(rows), of=["part"])["part"].to_list() == ["B", "A", "C"]
