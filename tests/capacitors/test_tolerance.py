"""Tolerances as printed. Letters of IEC 60062, from memory."""

import pytest

from fleet.capacitors.tolerance import read_tolerance


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("20%", 0.2, 0.2),
        ("±20 %", 0.2, 0.2),
        ("+/-20%", 0.2, 0.2),
        ("20", 0.2, 0.2),
        ("2,5 %", 0.025, 0.025),
        ("M", 0.2, 0.2),
        ("m", 0.2, 0.2),
        ("K", 0.1, 0.1),
        ("J", 0.05, 0.05),
        ("T", 0.1, 0.5),
        ("S", 0.2, 0.5),
        ("Z", 0.2, 0.8),
        ("Q", 0.1, 0.3),
        ("-10/+50", 0.1, 0.5),
        ("-10/+50 %", 0.1, 0.5),
        ("-10% +50%", 0.1, 0.5),
        ("−10…+50 %", 0.1, 0.5),
        ("+50/-10%", 0.1, 0.5),
        ("-0/+100%", 0.0, 1.0),
    ],
)
def test_tolerance_is_read_as_printed(text, low, high):
    assert read_tolerance(text) == pytest.approx((low, high))


@pytest.mark.parametrize("text", ["", "wide", "-20", "100%", "-100/+20", "W", "20/30/40"])
def test_what_is_no_tolerance_is_not_read(text):
    assert read_tolerance(text) is None
