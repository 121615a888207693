"""A sheet of readings as text: what is read, and what is said where it is not."""

import pytest

from fleet.errors import BadInput
from fleet.flow.reading_lines import EXAMPLE, blank_lines, is_reading_line, read_reading_lines
from fleet.frames import KINDS


def test_a_line_with_both_stages():
    assert read_reading_lines(EXAMPLE) == [
        {"position": "C1", "stage": "before", "volts_positive": "12.1", "volts_negative": "0.02",
         "esr_ohm": "4.1"},
        {"position": "C1", "stage": "after", "volts_positive": "12.3", "volts_negative": "0.01",
         "esr_ohm": "0.2", "capacitance": "470uF"},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("written", "column", "value"),
    [
        ("4.1ohm", "esr_ohm", "4.1"),
        ("4,1 Ohm", "esr_ohm", "4.1"),
        ("4.1 Ω", "esr_ohm", "4.1"),
        ("40mohm", "esr_ohm", "0.04"),
        ("0.4R", "esr_ohm", "0.4"),
        (".4R", "esr_ohm", "0.4"),
        (",4R", "esr_ohm", "0.4"),
        (".4 ohm", "esr_ohm", "0.4"),
        ("4R7", "esr_ohm", "4.7"),
        ("R47", "esr_ohm", "0.47"),
        ("0.4 R", "esr_ohm", "0.4"),
        ("0.03", "esr_ohm", "0.03"),
        ("0R6", "esr_ohm", "0.6"),
        ("R6", "esr_ohm", "0.6"),
        ("0.6 \u2126", "esr_ohm", "0.6"),
        ("1.8kohm", "esr_ohm", "1800"),
        ("1k8", "esr_ohm", "1800"),
        ("4u7", "capacitance", "4u7"),
        ("22u", "capacitance", "22u"),
        ("22 u", "capacitance", "22u"),
        ("0,47u", "capacitance", "0.47u"),
        ("u47", "capacitance", "u47"),
        ("470n", "capacitance", "470n"),
        ("22 MFD", "capacitance", "22MFD"),
        ("10 microfarad", "capacitance", "10microfarad"),
        ("1m5", "capacitance", "1m5"),
        ("470 µF", "capacitance", "470uF"),
        ("1mF", "capacitance", "1mF"),
        ("12.1 V", "volts_positive", "12.1"),
        ("out", "in_circuit", "no"),
        ("limit_used=0.5ohm", "limit_used", "0.5ohm"),
    ],
)
def test_usual_spellings(written, column, value):
    assert read_reading_lines(f"C7 check {written}") == [
        {"position": "C7", "stage": "check", column: value}
    ]


def test_volts_at_both_ends_may_be_below_zero():
    (got,) = read_reading_lines("C2: before -0.1/-12.4 V, 0.3 ohm")
    assert (got["volts_positive"], got["volts_negative"]) == ("-0.1", "-12.4")
    assert got["esr_ohm"] == "0.3"


def test_a_number_alone_behind_volts_is_ohms():
    (got,) = read_reading_lines("C2 before 12.1/.02 .3")
    assert (got["volts_positive"], got["volts_negative"]) == ("12.1", "0.02")
    assert got["esr_ohm"] == "0.3"


def test_blank_sheets_lines_and_remarks_are_passed_over():
    text = f"# measured cold\n\n{blank_lines(['C1', 'C2'])}\nC3 before 2ohm after"
    assert read_reading_lines(text) == [{"position": "C3", "stage": "before", "esr_ohm": "2"}]
    assert read_reading_lines("") == []


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_table_with_a_header(separator):
    lines = [["position", "stage", "esr_ohm"], ["C1", "before", "4.1"], ["C1", "after", ""]]
    text = "\n".join(separator.join(line) for line in lines)
    assert read_reading_lines(text) == [
        {"position": "C1", "stage": "before", "esr_ohm": "4.1"},
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("C1 4.1ohm", "line 1 does not say when C1"),
        ("\nC1 before warm", "line 2: 'warm' is not read"),
        ("C1 before 4ohm 5ohm", "gives esr_ohm twice"),
        ("C1 before 470", "'470' is not read"),
        ("C1 before 1m", "may be ohms or farads; write 1mohm, or 1mF"),
        ("C1 before 22MF", "'22MF' is not read"),  # micro- or millifarads
        ("C1 before -0.3", "'-0.3' is not read"),
        ("C1 before 0.3 0.4", "gives esr_ohm twice"),
        ("C1 before .../...V", "was not filled in"),
        ("C1 before ____ohm", "was not filled in"),
        ("C1 before colour=red", "is no column"),
        ("C1 before unit=S-002", "is no column"),
        ("position,colour\nC1,red", "no column colour"),
        ("position,stage\n,before", "line 2 names no position"),
        ("position,stage\nC1,before,3", "more cells"),
    ],
)
def test_what_is_not_read_is_said_with_its_line(text, said):
    with pytest.raises(BadInput, match=said):
        read_reading_lines(text)


def test_stages_are_those_of_the_record_kind():
    stages = KINDS["readings"].column("stage").choices
    for stage in stages:
        assert is_reading_line(f"C1 {stage} 1ohm")
    assert not is_reading_line("C1,stage=before,esr_ohm=1")
    assert not is_reading_line("C1")
