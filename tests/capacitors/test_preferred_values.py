"""IEC 60063 (from memory) and the values of old sets."""

import polars as pl
import pytest

from fleet.capacitors.preferred_values import (
    SERIES,
    is_preferred,
    nearest_preferred,
    preferred,
    voltage_from,
)
from fleet.errors import BadInput


def test_series_are_those_of_the_standard():
    # IEC 60063, from memory.
    assert SERIES["E3"] == (10, 22, 47)
    assert SERIES["E6"] == (10, 15, 22, 33, 47, 68)
    assert SERIES["E12"] == (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
    assert len(SERIES["E24"]) == 24
    assert set(SERIES["E3"]) < set(SERIES["E6"]) < set(SERIES["E12"]) < set(SERIES["E24"])


def test_neighbours_of_a_series_lie_about_one_step_of_it_apart():
    # A step of E24 is the 24th root of ten: the standard's values are that rounded, with the well
    # known exceptions around 3, 4 and 8 (27, 30, 33, 36, 39, 43, 47 and 82).
    for name, values in SERIES.items():
        step = 10 ** (1 / int(name[1:]))
        for below, above in zip(values, (*values[1:], 10 * values[0]), strict=True):
            assert above / below == pytest.approx(step, rel=0.07)


@pytest.mark.parametrize(
    ("old", "e6", "e12"),
    [
        (5, 4.7, 4.7),
        (8, 6.8, 8.2),
        (16, 15, 15),
        (25, 22, 27),
        (32, 33, 33),
        (50, 47, 47),
        (64, 68, 68),
        (250, 220, 270),
    ],
)
def test_values_of_old_sets_have_a_nearest_one_that_is_made(old, e6, e12):
    assert nearest_preferred(old * 1e-6, "E6") == pytest.approx(e6 * 1e-6)
    assert nearest_preferred(old * 1e-6, "E12") == pytest.approx(e12 * 1e-6)


@pytest.mark.parametrize("series", SERIES)
@pytest.mark.parametrize("decade", [1e-12, 1e-6, 1e-3, 1.0])
def test_a_preferred_value_is_its_own_nearest(series, decade):
    values = pl.DataFrame({"v": [s * decade for s in SERIES[series]]})
    got = values.select(preferred(pl.col("v"), series)).to_series().to_list()
    assert got == pytest.approx(values["v"].to_list())
    assert values.select(is_preferred(pl.col("v"), series)).to_series().all()


def test_a_value_near_the_next_decade_goes_up_to_it():
    assert nearest_preferred(9.5e-6, "E6") == pytest.approx(10e-6)


@pytest.mark.parametrize("value", [0.0, -1e-6, float("inf"), float("nan")])
def test_what_has_no_preferred_value_is_refused(value):
    with pytest.raises(BadInput, match="above zero"):
        nearest_preferred(value)


def test_an_unknown_series_is_refused():
    with pytest.raises(BadInput, match="E3, E6, E12, E24"):
        nearest_preferred(1e-6, "E7")


@pytest.mark.parametrize(
    ("volts", "step"), [(40.0, 50.0), (25.0, 25.0), (12.0, 16.0), (64.0, 80.0), (900.0, None)]
)
def test_next_rated_voltage(volts, step):
    # Steps of rated voltage: common practice, no source.
    frame = pl.DataFrame({"v": [volts]})
    assert frame.select(voltage_from(pl.col("v"))).item() == step
