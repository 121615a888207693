"""Volts to reckon with. Common practice, no source; the peak of a sine is sqrt(2) times."""

import pytest

from fleet.capacitors.charged_to import charged_to, harmful


@pytest.mark.parametrize(
    ("place", "volts"),
    [
        ({"voltage": 25.0}, 25.0),
        ({"voltage": 450.0, "role": "mains reservoir"}, 450.0),
        ({"voltage": None, "role": "mains reservoir"}, 400.0),
        ({"voltage": None}, 400.0),
        ({"voltage": 25.0, "role": "mains reservoir"}, 400.0),  # a slip: never the low table
        ({"voltage": 275.0, "safety_class": "X2"}, 400.0),  # peak 389
        ({"voltage": 400.0, "current": "ac"}, 565.7),
        ({"voltage": 400.0, "technology": "film"}, 565.7),  # of what, nobody told
        ({"voltage": 400.0, "technology": "film", "current": "dc"}, 400.0),
        ({"voltage": 12.0, "role": "fan motor driver", "current": "dc"}, 12.0),
    ],
)
def test_volts_to_reckon_with(place, volts):
    found = charged_to(place)
    assert found.volts == pytest.approx(volts, abs=0.1)
    assert (found.assumed is None) == (found.volts == place["voltage"])


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ({"voltage": 60.0}, False),  # IEC 62368-1, from memory: 60 V dc, 30 V ac
        ({"voltage": 63.0}, True),
        ({"voltage": None}, True),
        ({"voltage": 35.0, "current": "ac"}, True),
        ({"voltage": 25.0, "role": "mains reservoir"}, True),
        ({"voltage": 25.0, "role": "12 V output"}, False),
    ],
)
def test_what_may_hurt(place, says):
    assert harmful(place) is says
