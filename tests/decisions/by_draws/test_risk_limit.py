"""The age at which a chance passes its limit, by root search on plain loops over the draws."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from fleet.decisions.risk_limit import ages_at_risk

DRAWS = ((2.0, 14.0), (3.0, 16.0), (4.5, 12.0), (2.5, 30.0))
WEIGHT = [0.3, 0.2, 0.2, 0.3]


def gathered(shape, scale, age, within):
    return ((age + within) / scale) ** shape - (age / scale) ** shape


def chance(age, now, within):
    """1 - Σ w R(t + within) / Σ w R(t); R counts from now for ages still to come."""
    alive = failed = 0.0
    for w, (shape, scale) in zip(WEIGHT, DRAWS, strict=True):
        lived = w * math.exp(-gathered(shape, scale, now, max(age - now, 0.0)))
        alive += lived
        failed += lived * -math.expm1(-gathered(shape, scale, age, within))
    return failed / alive


def found(by_hand, lives, ages, *, limit=0.1, within=1.0, **fields):
    ages = np.atleast_1d(np.asarray(ages, float))
    units = by_hand.units(ages.size, youngest=ages, **fields)
    year = by_hand.year
    out = ages_at_risk(lives, units, ages * year, limit=limit, within=within * year)
    return [values / year for values in (out.age, out.low, out.high)]


@pytest.mark.parametrize(("limit", "within"), [(0.1, 1.0), (0.05, 2.0), (0.5, 3.0)])
def test_draws_all_equal_give_the_root_of_one_life(by_hand, limit, within):
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0)] * 20))
    root = brentq(lambda t: gathered(3.0, 15.0, t, within) + math.log1p(-limit), 0.0, 100.0)
    age, low, high = found(by_hand, lives, [0.0, 2.0], limit=limit, within=within)
    assert age == pytest.approx([root, root], rel=2e-3)  # walked in steps, joined by lines
    assert low == pytest.approx([root, root], rel=2e-3)
    assert high == pytest.approx([root, root], rel=2e-3)


def test_ages_to_come_and_gone_by_a_plain_loop(by_hand):
    lives = by_hand.lives(*by_hand.model(*DRAWS), weight=WEIGHT)
    for now in (1.0, 20.0):
        # machines that live on are those of the longer-lived draws: it may pass and fall again
        ages = np.arange(now, 40.0, 0.1) if now < 10.0 else np.arange(now, 0.0, -0.1)
        above = [chance(t, now, 1.0) >= 0.1 for t in ages]
        turn = next(n for n, over in enumerate(above) if over != above[0])
        ends = sorted(ages[turn - 1 : turn + 1])
        root = brentq(lambda t, now=now: chance(t, now, 1.0) - 0.1, *ends)
        age, low, high = found(by_hand, lives, now)
        assert age == pytest.approx([root], rel=5e-3)
        assert (root < now) == (now == 20.0)
        assert low <= age <= high
    own = [
        brentq(lambda t, k=k, s=s: gathered(k, s, t, 1.0) + math.log(0.9), 0, 200) for k, s in DRAWS
    ]
    assert low == pytest.approx([min(min(own), age[0])], rel=1e-6)
    assert high == pytest.approx([max(own)], rel=1e-6)


def test_a_rate_that_does_not_rise_is_at_once_or_never(by_hand):
    constant = by_hand.lives(*by_hand.model(*[(1.0, 5.0)] * 8))
    p = -math.expm1(-1.0 / 5.0)
    age, low, _ = found(by_hand, constant, [4.0], limit=p * 0.9)
    assert (age[0], low[0]) == (0.0, 0.0)  # above the limit since new
    age, low, high = found(by_hand, constant, [4.0], limit=p * 1.1)
    assert np.isinf([age[0], low[0], high[0]]).all()


def test_only_part_renewed_uses_both_lives(by_hand):
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0)] * 8))
    age, _, _ = found(by_hand, lives, [2.0], old_cell=0, old_age=12.0)

    def mixed(ahead):  # half of the hazard each, METHODS: unit-draws
        new = gathered(3.0, 15.0, 2.0 + ahead, 1.0)
        return -math.expm1(-0.5 * (new + gathered(3.0, 15.0, 12.0 + ahead, 1.0))) - 0.1

    assert age == pytest.approx([2.0 + brentq(mixed, -2.0, 50.0)], rel=5e-3)


def test_like_units_get_like_answers_in_their_own_order(by_hand):
    lives = by_hand.lives(*by_hand.model(*DRAWS), weight=WEIGHT)
    ages = [1.0, 20.0, 1.0, 5.0, 20.0]
    together = found(by_hand, lives, ages)[0]
    alone = [found(by_hand, lives, a)[0][0] for a in ages]
    assert together == pytest.approx(alone, rel=1e-12)
