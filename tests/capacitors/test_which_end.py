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
def test_a_moulded_chip_is_the_other_way_round(technology):
    ends = which_end("smd", technology)
    assert ends.polar
    assert "stripe is the POSITIVE end" in ends.mark


@pytest.mark.parametrize("form", ["radial", "axial", None])
def test_a_tantalum_with_leads_goes_by_its_plus_sign(form):
    assert "plus sign" in which_end(form, "tantalum").mark
    assert "POSITIVE" in which_end(form, "tantalum").mark


def test_a_polymer_can_is_marked_as_a_can():
    for technology in ("polymer", "aluminium polymer"):
        mark = which_end("radial", technology).mark
        assert "stripe is the negative lead" in mark
        assert "POSITIVE" not in mark


def test_a_surface_mount_polymer_is_told_by_its_shape():
    mark = which_end("smd", "polymer").mark
    assert "black bar on its top is the negative end" in mark
    assert "flat moulded chip: the stripe is the POSITIVE end" in mark


@pytest.mark.parametrize(
    ("technology", "note"), [("film", None), ("aluminium", "bipolar"), ("non-polar", None)]
)
def test_no_polarity(technology, note):
    assert not which_end("radial", technology, note).polar


def test_a_form_nobody_recorded_is_not_guessed():
    ends = which_end(None)
    assert ends.polar
    assert "not recorded" in ends.mark
