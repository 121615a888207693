"""Facts as they are typed on a page: read, looked at together, and what is still missing."""

import pytest

from fleet.errors import BadInput
from fleet.flow.typed_facts import look_at, read_line


def test_a_line_is_read_into_columns_of_records():
    assert read_line("1000uF 25V 105C 10x20 radial") == {
        "capacitance": "1000uF",
        "voltage": "25",
        "temperature": "105",
        "diameter_mm": "10",
        "length_mm": "20",
        "lead_form": "radial",
    }


def test_a_word_without_a_unit_is_refused():
    with pytest.raises(BadInput, match="'1000' has no unit"):
        read_line("1000 35V")


def test_a_whole_line_leaves_nothing_to_measure():
    facts = read_line("1000uF 25V 105C 10x20 radial")
    assert look_at({**facts, "ground_referenced": "no"}) == ([], [])


def test_what_an_order_needs_besides_is_named():
    wrong, missing = look_at({**read_line("1000uF 25V"), "role": None, "headroom_mm": ""})
    assert wrong == []
    assert missing == ["temperature", "lead form", "diameter", "length"]


def test_facts_that_cannot_all_be_true_are_a_sentence():
    wrong, _ = look_at(read_line("1000uF 25V 900C 10x20 radial"))
    assert len(wrong) == 1
    assert "900" in wrong[0]
