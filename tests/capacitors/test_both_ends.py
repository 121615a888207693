"""Voltages at both ends of a place. Common practice, no source."""

import pytest

from fleet.capacitors.both_ends import oddity


@pytest.mark.parametrize(
    ("positive", "negative", "grounded"),
    [
        (12.1, 0.0, True),  # tied to ground: the negative end reads about 0 V
        (5.0, 0.04, True),
        (48.0, 24.1, False),  # floats: both ends carry voltage
        (48.0, 24.1, None),
        (None, None, True),
        (12.0, None, False),
    ],
)
def test_nothing_odd(positive, negative, grounded):
    assert oddity(positive, negative, grounded) is None


def test_two_ends_that_read_the_same_are_suspect():
    said = oddity(24.0, 24.0, None)
    assert "both ends read the same" in said
    assert "not tied to ground" in said
    assert "holds no charge" in said


def test_tied_to_ground_and_the_same_holds_no_charge():
    assert "holds no charge though it should" in oddity(0.0, 0.0, True)


def test_a_negative_end_well_above_ground():
    assert "negative end reads 3 V, though the place is tied to ground" in oddity(12.0, 3.0, True)
    assert "tied to ground" in oddity(None, 3.0, True)


def test_the_wrong_way_round():
    assert "wrong way round" in oddity(-11.0, 0.0, True)
