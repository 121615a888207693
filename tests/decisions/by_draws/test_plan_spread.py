"""Failures before days of one's own, against the law of the number by enumeration."""

import numpy as np
import pytest

from fleet.decisions.plan_spread import chances_by, failing_by

YEAR = 365.25


def law_of(chances):
    """Chances of 0, 1, ... failures of independent machines (Poisson-binomial), by convolution."""
    law = np.array([1.0])
    for chance in chances:
        law = np.convolve(law, [1.0 - chance, chance])
    return law


def limits(law, level):
    reached = np.cumsum(law)
    return tuple(int(np.searchsorted(reached, t)) for t in ((1 - level) / 2, (1 + level) / 2))


def test_chances_of_one_known_life(by_hand):
    known = by_hand.lives(by_hand.cell((3.0, 15.0)))
    found = chances_by(known, by_hand.units(2, youngest=10.0), np.array([YEAR, 3 * YEAR]))
    by_hand = [1 - np.exp((10 / 15) ** 3 - (a / 15) ** 3) for a in (11, 13)]
    assert found.tolist() == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("level", [0.8, 0.9])
def test_number_of_failures_under_one_known_life(by_hand, level):
    known = by_hand.lives(by_hand.cell((3.0, 15.0)))
    ages = np.linspace(6.0, 16.0, 12)
    own, days = by_hand.units(12, youngest=ages), np.linspace(100.0, 900.0, 12)
    alive = np.linspace(0.5, 1.0, 12)
    chances = alive * chances_by(known, own, days)
    found = failing_by(known, own, np.zeros(12, int), days, alive, level=level)
    assert found.units == 12
    assert found.expected == pytest.approx(chances.sum(), rel=1e-9)
    low, high = limits(law_of(chances), level)
    # a binomial of the same mean and variance stands in for the law: within one machine
    assert abs(found.low - low) <= 1
    assert abs(found.high - high) <= 1


def test_doubt_common_to_a_model_widens_the_limits(by_hand):
    sure = by_hand.lives(*by_hand.model((3.0, 13.0)))
    unsure = by_hand.lives(
        *by_hand.model(*by_hand.invented(200, shape=(2.9, 3.1), scale=(8.0, 25.0)))
    )
    own, days = by_hand.units(60, youngest=9.0), np.full(60, 2 * YEAR)
    ones, zero = np.ones(60), np.zeros(60, int)
    narrow = failing_by(sure, own, zero, days, ones, level=0.9)
    wide = failing_by(unsure, own, zero, days, ones, level=0.9)
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)


def test_nobody(by_hand):
    known, none = by_hand.lives(by_hand.cell((3.0, 15.0))), np.zeros(0)
    found = failing_by(known, by_hand.units(0), none.astype(int), none, none, level=0.9)
    assert (found.units, found.expected, found.low, found.high) == (0, 0.0, 0.0, 0.0)
