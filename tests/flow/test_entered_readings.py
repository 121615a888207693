"""What is refused of readings typed with a report, and what is said of odd ones."""

import pytest

from fleet.errors import BadInput
from fleet.flow.entered_readings import (
    refuse_empty,
    refuse_placeholders,
    refuse_unsaid_positions,
)


@pytest.mark.parametrize(
    "fields",
    [{"batch": "BATCH"}, {"batch": "___"}, {"by": "NAME"}, {"symptom": "....."}, {"by": "_"}],
)
def test_what_a_sheet_prints_to_be_filled_in_is_refused(fields):
    with pytest.raises(BadInput, match="as printed"):
        refuse_placeholders(fields)


def test_what_was_filled_in_is_kept():
    refuse_placeholders(
        {"batch": "NB-2431", "notes": "BATCH", "symptom": "no display ...", "by": ""}
    )


@pytest.mark.parametrize(
    "reading",
    [
        {"position": "C3", "stage": "before", "esr_ohm": "", "volts_positive": ""},
        {"position": "C3", "stage": "before", "instrument": "meter 2"},
    ],
)
def test_a_reading_without_a_value_is_refused(reading):
    with pytest.raises(BadInput, match=r"reading of C3 \(before\) holds no value"):
        refuse_empty([reading])
    refuse_empty([{**reading, "capacitance": "470uF"}])


def test_a_recap_with_readings_says_which_positions_were_replaced():
    readings = [{"position": "C3", "esr_ohm": "4"}, {"position": "hours", "capacitance": "900"}]
    with pytest.raises(BadInput, match="readings of C3, and which positions were replaced"):
        refuse_unsaid_positions("recapped", {}, readings)
    refuse_unsaid_positions("recapped", {"positions": "all"}, readings)
    refuse_unsaid_positions("repaired", {}, readings)
    refuse_unsaid_positions("recapped", {}, readings[1:])
