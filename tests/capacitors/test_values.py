"""Capacitance in the spellings people use; each value worked by hand."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.capacitors.values import farads, farads_said, read_farads, say_farads


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1000uF", 1e-3),
        ("1000µF", 1e-3),  # the micro sign
        ("1000 μF", 1e-3),  # the Greek letter
        ("1 mF", 1e-3),
        ("1 000 uF", 1e-3),
        ("4u7", 4.7e-6),
        ("4U7", 4.7e-6),
        ("4u7F", 4.7e-6),
        ("µ47", 4.7e-7),  # IEC 60062 without the leading nought
        ("4m7", 4.7e-3),
        ("4n7", 4.7e-9),
        ("4,7 µF", 4.7e-6),
        ("0,100 µF", 1e-7),
        (".47uF", 4.7e-7),
        ("470n", 4.7e-7),
        ("470nF", 4.7e-7),
        ("100 pF", 1e-10),
        ("22 MFD", 2.2e-5),
        ("22 mfd.", 2.2e-5),
        ("22 ufd", 2.2e-5),
        ("50 mmfd", 5e-11),  # old American pF
        ("10 microfarads", 1e-5),
        ("0.22F", 0.22),
    ],
)
def test_capacitance_is_read_as_printed(text, value):
    assert read_farads(text) == value


@pytest.mark.parametrize(
    "text",
    [
        *("", "470", "4.7", "dead short", "1e3uF", "1FF", "-5uF", "4.7.7u", "uF"),
        *("16 MF", "100 mf", "1m", "1M"),  # µF on old sleeves, mF elsewhere
        *("1,000uF", "1.000 µF", "10,000 uF"),  # thousands or decimals
    ],
)
def test_what_can_mean_two_values_is_not_read(text):
    assert read_farads(text) is None


def test_spellings_of_one_value_are_the_same_number():
    texts = ["1000uF", "1 mF", "1000µF", "1000 MFD", "1m0", "0.001F"]
    assert {read_farads(text) for text in texts} == {1e-3}


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (1e-3, "1000 µF"),
        (4.7e-6, "4.7 µF"),
        (4.7e-7, "0.47 µF"),
        (1e-7, "0.1 µF"),
        (2.2e-8, "22 nF"),
        (1e-10, "100 pF"),
        (0.1, "0.1 F"),
        (0.0, "0 µF"),
    ],
)
def test_values_are_written_as_catalogues_do(value, said):
    assert say_farads(value) == said


@given(st.integers(1, 999_999), st.integers(-12, -3))
def test_what_is_written_reads_back(digits, exponent):
    value = float(f"{digits}e{exponent}")
    assert read_farads(say_farads(value)) == pytest.approx(value, rel=1e-12)


def test_a_column_reads_as_its_texts_do():
    texts = ["1 mF", None, "470", "4u7"]
    frame = pl.DataFrame({"t": texts}).select(f=farads(pl.col("t")))
    assert frame["f"].to_list() == [1e-3, None, None, 4.7e-6]
    said = frame.select(farads_said(pl.col("f"))).to_series().to_list()
    assert said == ["1000 µF", None, None, "4.7 µF"]
