"""The rule R >= V^2 / P and 5 R C, worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.capacitors.discharge import discharge, next_usual_value
from fleet.errors import BadInput


def test_a_reservoir_worked_by_hand():
    # 100 uF +-20 % marked 400 V: 120 uF, 0.5 x 120e-6 x 160000 = 9.6 J.
    found = discharge(100e-6, 400.0)
    assert found.farads == pytest.approx(120e-6)
    assert found.joules == pytest.approx(9.6)
    # 5 W: 160000 / 5 = 32 kohm, the next of E12 is 33 kohm; 5 x 33e3 x 120e-6 = 19.8 s.
    five = found.resistors[1]
    assert five.power_w == 5.0
    assert five.least_ohm == pytest.approx(32_000)
    assert five.ohm == pytest.approx(33_000)
    assert five.seconds == pytest.approx(19.8)


def test_five_time_constants_leave_less_than_a_hundredth():
    # The exponential law: exp(-5) = 0.0067.
    one = discharge(47e-6, 400.0, tolerance=0.0).resistors[0]
    assert one.volts_left == pytest.approx(400.0 * math.exp(-5.0))
    assert one.volts_left < 4.0


@given(farads=st.floats(1e-7, 1e-1), volts=st.floats(1.0, 1000.0), power=st.floats(0.25, 50.0))
def test_no_resistor_takes_more_than_its_rating_nor_much_longer_than_it_must(farads, volts, power):
    (one,) = discharge(farads, volts, ratings_w=(power,)).resistors
    assert volts**2 / one.ohm <= power * (1 + 1e-9)
    assert one.ohm <= one.least_ohm * 1.25  # steps of E12 are at most 1.22 apart


@pytest.mark.parametrize(
    ("ohm", "usual"), [(1000, 1000), (1001, 1200), (33_000, 33_000), (8300, 10_000), (0.9, 1.0)]
)
def test_next_value_of_e12(ohm, usual):
    # IEC 60063 E12, from memory: 10 12 15 18 22 27 33 39 47 56 68 82.
    assert next_usual_value(ohm) == pytest.approx(usual)


@pytest.mark.parametrize(("farads", "volts"), [(0.0, 400.0), (1e-6, -1.0), (math.nan, 1.0)])
def test_numbers_that_cannot_be_are_refused(farads, volts):
    with pytest.raises(BadInput, match="above zero"):
        discharge(farads, volts)
