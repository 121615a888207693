"""Voltages at both ends of a place. Common practice, no source."""

import pytest

from fleet.capacitors.both_ends import oddity


@pytest.mark.parametrize(
    ("positive", "negative", "grounded", "end"),
    [
        (12.1, 0.0, True, "negative"),  # the end tied to ground reads about 0 V
        (12.1, 0.0, True, None),
        (5.0, 0.04, True, "negative"),
        (0.0, -12.0, True, "positive"),  # a negative rail
        (0.0, -12.0, True, None),  # either end may be the one on ground
        (48.0, 24.1, False, None),  # floats: both ends carry voltage
        (48.0, 24.1, None, None),
        (None, None, True, "negative"),
        (12.0, None, False, None),
        (None, 3.0, True, None),
    ],
)
def test_nothing_odd(positive, negative, grounded, end):
    assert oddity(positive, negative, grounded, end) is None


def test_two_ends_that_read_the_same_are_suspect():
    said = oddity(24.0, 24.0, None)
    assert "both ends read the same" in said
    assert "not tied to ground" in said
    assert "holds no charge" in said


def test_tied_to_ground_and_the_same_holds_no_charge():
    assert "holds no charge though it should" in oddity(0.0, 0.0, True)


def test_the_end_on_ground_well_away_from_it():
    said = "the negative end reads 3 V, though it is tied to ground"
    assert oddity(12.0, 3.0, True, "negative") == said
    assert oddity(None, 3.0, True, "negative") == said
    assert oddity(0.0, -12.0, True, "negative") == said.replace("3", "-12")
    assert "the positive end reads 12 V" in oddity(12.0, 0.0, True, "positive")


def test_neither_end_on_ground_though_one_should_be():
    assert "neither end reads about 0 V (12 and 3 V)" in oddity(12.0, 3.0, True)


@pytest.mark.parametrize(("positive", "negative"), [(-11.0, 0.0), (0.02, 12.1)])
def test_the_wrong_way_round(positive, negative):
    said = oddity(positive, negative, True)
    assert "wrong way round" in said
    assert "probes swapped, the part in backwards, or a negative rail" in said
