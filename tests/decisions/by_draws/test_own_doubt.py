"""Having lived tells of a machine's own batch and heat, not of the law common to all."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.own_doubt import own_law
from fleet.decisions.set_life import SetLife

SHAPE, CENTRE, SPREAD = 3.0, 15.0, 0.4
COUNT = 400


def lives(by_hand, *, shape=SHAPE):
    """One common law, every draw with a batch of its own at even steps."""
    stands = norm.ppf((np.random.default_rng(3).permutation(COUNT) + 0.5) / COUNT)
    scales = CENTRE * np.exp(SPREAD * stands)
    cells, draws = by_hand.frames(*by_hand.model(*[(shape, s) for s in scales]))
    centre = CENTRE * by_hand.year
    told = {"centre": 0.0 * draws["centre"] + centre, "spread": 0.0 * draws["spread"] + SPREAD}
    return DrawnLives.of(cells, draws.with_columns(**told))


def survives(age, years, *, shape=SHAPE):
    """Chance of a set of an unknown batch that works at an age to last, by integration."""

    def lasts(to):
        return quad(
            lambda z: norm.pdf(z) * np.exp(-((to / (CENTRE * np.exp(SPREAD * z))) ** shape)), -8, 8
        )[0]

    return lasts(age + years) / lasts(age)


@pytest.mark.parametrize("age", [2.0, 14.0, 28.0, 60.0])
def test_a_used_set_by_numerical_integration(by_hand, age):
    old = SetLife.to_come(lives(by_hand), 1).used(age * by_hand.year)
    found = float((old.weight * old.lasts(3.0 * by_hand.year)).sum())
    assert found == pytest.approx(survives(age, 3.0), abs=0.01)
    assert old.weight == pytest.approx(np.full(COUNT, 1.0 / COUNT))


@pytest.mark.parametrize("age", [2.0, 14.0, 28.0])
def test_a_machine_of_a_batch_nobody_knows_by_numerical_integration(by_hand, age):
    law = own_law(lives(by_hand), by_hand.units(cell=1, youngest=age, own_unknown=True))
    lasts = np.exp(-law.added(law.age, law.age + 3.0 * by_hand.year))
    assert float((law.weight * lasts).sum()) == pytest.approx(survives(age, 3.0), abs=0.03)
    assert law.weight == pytest.approx(np.full((1, COUNT), 1.0 / COUNT))


def test_a_batch_that_is_known_moves_nothing(by_hand):
    own = lives(by_hand)
    law = own_law(own, by_hand.units(cell=0, youngest=28.0))
    assert law.log_scale == pytest.approx(own.log_scale[:1])
    assert law.weight == pytest.approx(np.full((1, COUNT), 1.0 / COUNT))


def test_common_laws_that_hardly_wear_out_do_not_take_over(by_hand):
    """A used machine grows no younger with age for want of failures: half the draws wear out."""
    cells, draws = by_hand.frames(*by_hand.model((1.0, 30.0), (4.0, 15.0)))
    sure = DrawnLives.of(cells, draws.with_columns(spread=0.0 * draws["spread"]))
    new = SetLife.to_come(sure, 1)
    lasts = [
        float((old.weight * old.lasts(10.0 * by_hand.year)).sum())
        for old in (new.used(age * by_hand.year) for age in (0.0, 28.0, 40.0, 60.0))
    ]
    assert lasts == sorted(lasts, reverse=True)
    assert lasts[-1] == pytest.approx(0.5 * np.exp(-1.0 / 3.0), rel=1e-6)
