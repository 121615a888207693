"""What rules turn on, read off people's words."""

import polars as pl
import pytest

from fleet.capacitors.facts import kind_of, use_of, with_facts


@pytest.mark.parametrize(
    ("role", "use"),
    [
        ("mains reservoir", "rectifier"),
        ("behind the rectifier", "rectifier"),
        ("12 V output", "supply"),
        ("5V", "supply"),
        ("right behind the power supply", "supply"),
        ("timer supply", "supply"),
        ("output of the 5 V regulator", "regulator"),
        ("reset delay", "value"),
        ("level sensor filter", "value"),
        ("audio coupling", "value"),
        ("across the mains", "line filter"),
        ("line to earth", "line filter"),
        ("pump driver, floats", None),
        (None, None),
    ],
)
def test_what_a_place_does(role, use):
    frame = pl.DataFrame({"role": [role]}, schema={"role": pl.String})
    assert frame.select(use_of(pl.col("role"))).item() == use


@pytest.mark.parametrize(
    ("technology", "kind"),
    [
        ("aluminium", "aluminium"),
        ("Aluminum electrolytic", "aluminium"),
        ("aluminium polymer", "polymer"),
        ("tantalum polymer", "polymer"),
        ("hybrid polymer", "hybrid"),
        ("solid tantalum", "tantalum"),
        ("polyester film", "film"),
        ("MKP", "film"),
        ("X7R", "ceramic"),
        ("unheard of", None),
        (None, None),
    ],
)
def test_kinds_of_capacitor(technology, kind):
    frame = pl.DataFrame({"t": [technology]}, schema={"t": pl.String})
    assert frame.select(kind_of(pl.col("t"))).item() == kind


def test_a_row_without_facts_knows_nothing():
    row = with_facts(pl.DataFrame({"part": ["P"]})).row(0, named=True)
    told = {name for name, value in row.items() if value is not None}
    assert told == {"part", "non_polar", "esr_told", "may_be_ac"}
    assert row["non_polar"] is False


def test_what_a_place_does_is_read_off_its_notes_where_no_role_is_told():
    frame = pl.DataFrame(
        {"role": [None], "notes": ["reset delay"]}, schema_overrides={"role": pl.String}
    )
    assert with_facts(frame)["use"].to_list() == ["value"]


def test_classes_are_read_whatever_their_spelling():
    frame = pl.DataFrame({"safety_class": [" x1/y2 ", "Y1", "Z9", ""]})
    read = with_facts(frame)
    assert read["x_class"].to_list() == [1, None, None, None]
    assert read["y_class"].to_list() == [2, 1, None, None]
    assert read["safety_class"].to_list() == ["X1/Y2", "Y1", "Z9", None]


def test_an_unusual_value_was_made_with_a_wider_tolerance():
    # IEC 60062 letters T and M, from memory.
    frame = pl.DataFrame({"capacitance": ["50uF", "47uF", "50uF"], "tolerance": [None, None, "M"]})
    read = with_facts(frame)
    assert read["low_f"].to_list() == pytest.approx([45e-6, 37.6e-6, 40e-6])
    assert read["high_f"].to_list() == pytest.approx([75e-6, 56.4e-6, 60e-6])
