"""Readings against limits, worked by hand."""

import polars as pl
import pytest

from fleet.capacitors import judge_readings
from fleet.capacitors.measured import esr_limit, least_capacitance


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("0.5 ohm", 0.5),
        ("250 mΩ", 0.25),
        ("1,2 Ω", 1.2),
        ("twice a fresh part", 0.2),
        ("3 x fresh", 0.3),
        ("300 %", 0.3),
        (None, 0.2),
        ("by ear", 0.2),
    ],
)
def test_limit_of_esr_is_as_written_else_twice_a_fresh_part(text, limit):
    frame = pl.DataFrame({"t": [text], "f": [0.1]}, schema={"t": pl.String, "f": pl.Float64})
    assert frame.select(esr_limit(pl.col("t"), pl.col("f"))).item() == pytest.approx(limit)


@pytest.mark.parametrize(("text", "least"), [(None, 80.0), ("30 %", 70.0), ("85 %", 85.0)])
def test_least_capacitance(text, least):
    frame = pl.DataFrame({"t": [text], "m": [100.0]}, schema={"t": pl.String, "m": pl.Float64})
    got = frame.select(least_capacitance(pl.col("t"), pl.col("m"))).item()
    assert got == pytest.approx(least)


SCHEMA = {
    **dict.fromkeys(("esr_ohm", "volts_positive", "volts_negative"), pl.Float64),
    **dict.fromkeys(("capacitance", "limit_used", "fact_capacitance"), pl.String),
    **dict.fromkeys(("fact_esr_ohm", "fact_voltage"), pl.Float64),
    "fact_polarity": pl.String,
}
FACTS = {"fact_esr_ohm": 0.1, "fact_capacitance": "100uF", "fact_voltage": 25.0}


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        ({"esr_ohm": 0.21}, "bad"),
        ({"esr_ohm": 0.19}, "good"),
        ({"esr_ohm": 0.19, "capacitance": "79uF"}, "bad"),
        ({"esr_ohm": 0.19, "capacitance": "81uF"}, "good"),
        ({"capacitance": "99uF"}, None),  # a part may hold its charge and have lost its ESR
        ({"capacitance": "60uF"}, "bad"),
        ({"volts_positive": 26.0}, "bad"),
        ({"volts_positive": 12.0}, None),
        ({"volts_positive": 20.0, "volts_negative": -8.0}, "bad"),
        ({"volts_positive": 0.0, "volts_negative": 3.0}, "bad"),
        ({"volts_positive": 0.0, "volts_negative": 3.0, "fact_polarity": "non-polar"}, None),
        ({"esr_ohm": 5.0, "fact_esr_ohm": None}, None),
        ({"esr_ohm": 5.0, "fact_esr_ohm": None, "limit_used": "2 ohm"}, "bad"),
        ({}, None),
    ],
)
def test_verdict_of_a_reading(reading, verdict):
    row = {**dict.fromkeys(SCHEMA), **FACTS, **reading}
    assert judge_readings(pl.DataFrame([row], schema=SCHEMA))["verdict"].to_list() == [verdict]
