"""Ends and their marks. Common practice, from memory; none has a published source here."""

import pytest

from fleet.capacitors.which_end import which_end


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ("axial", "indented end, with the rubber seal, is positive"),
        ("radial", "stripe is the negative lead"),
        ("snap-in", "stripe is the negative terminal"),
        ("smd", "black bar on its top is the negative end"),
    ],
)
def test_an_aluminium_can_by_its_form(form, says):
    ends = which_end(form, "aluminium")
    assert ends.polar
    assert says in ends.mark


@pytest.mark.parametrize("technology", ["tantalum", "Tantalum polymer", "moulded polymer"])
def test_tantalum_is_the_other_way_round(technology):
    ends = which_end("smd", technology)
    assert ends.polar
    assert "POSITIVE" in ends.mark


def test_a_polymer_can_is_marked_as_a_can():
    assert "negative" in which_end("radial", "aluminium polymer").mark


@pytest.mark.parametrize(
    ("technology", "note"), [("film", None), ("aluminium", "bipolar"), ("non-polar", None)]
)
def test_no_polarity(technology, note):
    assert not which_end("radial", technology, note).polar


def test_a_form_nobody_recorded_is_not_guessed():
    ends = which_end(None)
    assert ends.polar
    assert "not recorded" in ends.mark
