"""Spares: exact laws against scipy, against plain enumeration, and cases worked by hand."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, nbinom, poisson_binom

from fleet.decisions.spares import (
    Losses,
    chance_enough,
    failing_machines,
    places_more,
    spares_for,
)
from fleet.errors import BadInput

NO_LOSS = Losses(dud=0.0, slip=0.0, level=0.95, least=0)


def test_one_place_by_hand():
    """Dud 0.1: of 1 piece 0.9 is enough, of 2 pieces 1 - 0.1^2 = 0.99."""
    losses = Losses(dud=0.1, slip=0.0, level=0.95, least=0)
    found = spares_for(1, losses)
    assert found.spares == 1
    assert found.chance == pytest.approx(0.99, abs=1e-12)
    assert spares_for(1, Losses(dud=0.1, slip=0.0, level=0.9, least=0)).spares == 0
    assert spares_for(1, Losses(dud=0.1, slip=0.0, level=0.995, least=0)).spares == 2


def test_dud_and_slip_are_lost_alike():
    """Pieces used until `places` are filled: the negative binomial law of their losses (scipy)."""
    losses = Losses(dud=0.03, slip=0.05, level=0.99, least=0)
    good = 0.97 * 0.95
    assert losses.good == pytest.approx(good)
    for places in (1, 7, 40, 400):
        for spares in range(8):
            ours = chance_enough(places + spares, places, good=good)
            assert ours == pytest.approx(nbinom.cdf(spares, places, good), abs=1e-10)
        assert spares_for(places, losses).spares == nbinom.ppf(0.99, places, good)


def test_failing_machines_are_those_of_scipy():
    chances = np.linspace(0.001, 0.4, 60)
    law = failing_machines(chances)
    known = poisson_binom.pmf(np.arange(law.size), chances)
    assert law == pytest.approx(known, abs=1e-12)
    assert law.sum() == pytest.approx(1.0, abs=1e-12)


def test_equal_chances_are_binomial_and_many_are_quick():
    law = failing_machines(np.full(4000, 0.01))
    assert law == pytest.approx(binom.pmf(np.arange(law.size), 4000, 0.01), abs=1e-12)
    assert law.size < 400  # what cannot happen is left off


def test_no_machine_fails_none():
    assert failing_machines([]).tolist() == [1.0]
    assert failing_machines([0.0, 0.0]).tolist() == [1.0]
    assert failing_machines([1.0, 1.0]).tolist() == [0.0, 0.0, 1.0]


def test_a_machine_with_two_places_asks_for_two():
    """Two machines at 0.5 with two places each: 0, 2, 4 places with 1/4, 1/2, 1/4."""
    law = places_more({"A": failing_machines([0.5, 0.5])}, {"A": 2})
    assert law.tolist() == [0.25, 0.0, 0.5, 0.0, 0.25]


def test_models_without_the_part_or_without_chances_add_nothing():
    failing = {"A": failing_machines([0.5])}
    assert places_more(failing, {"B": 3}).tolist() == [1.0]
    assert places_more(failing, {"A": 0}).tolist() == [1.0]


@given(
    places=st.integers(0, 3),
    spares=st.integers(0, 3),
    good=st.floats(0.5, 1.0),
    chances=st.lists(st.floats(0.0, 1.0), max_size=3),
)
def test_chance_by_enumeration(places, spares, good, chances):
    """Every way in which pieces are good or lost and machines fail or not, added up."""
    pieces = places + spares
    total = 0.0
    for goods in itertools.product((0, 1), repeat=pieces):
        for fails in itertools.product((0, 1), repeat=len(chances)):
            weight = good ** sum(goods) * (1 - good) ** (pieces - sum(goods))
            for chance, fail in zip(chances, fails, strict=True):
                weight *= chance if fail else 1 - chance
            total += weight * (sum(goods) >= places + sum(fails))
    more = places_more({"A": failing_machines(chances)}, {"A": 1})
    assert chance_enough(pieces, places, good=good, more=more) == pytest.approx(total, abs=1e-9)


@given(
    places=st.integers(1, 60),
    dud=st.floats(0.0, 0.2),
    level=st.floats(0.5, 0.999),
    chances=st.lists(st.floats(0.0, 0.3), max_size=6),
)
def test_fewest_that_reach_the_level(places, dud, level, chances):
    losses = Losses(dud=dud, slip=0.01, level=level, least=0)
    more = places_more({"A": failing_machines(chances)}, {"A": 1})
    found = spares_for(places, losses, more=more)
    assert found.chance >= level - 1e-9
    if found.spares:
        one_less = places + found.spares - 1
        assert chance_enough(one_less, places, good=losses.good, more=more) < level


def test_one_spare_of_each_even_where_none_is_needed():
    """One spare of each: common practice, no source."""
    assert spares_for(5, NO_LOSS).spares == 0
    assert spares_for(5, Losses(dud=0.0, slip=0.0)).spares == 1


def test_spares_rise_with_chance_places_and_level():
    def count(places=40, **given):
        return spares_for(places, Losses(**{"dud": 0.02, "slip": 0.02, **given})).spares

    assert count() < count(dud=0.1)
    assert count() < count(level=0.9999)
    assert count(10) < count(400)
    assert count(400) < 0.1 * 400  # together they need fewer a place than one by one


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ({"dud": 1.0}, "dud"),
        ({"slip": -0.1}, "slip"),
        ({"level": 1.0}, "enough"),
        ({"least": -1}, "spares"),
        ({"dud": float("nan")}, "dud"),
    ],
)
def test_chances_that_cannot_be_are_refused(given, word):
    with pytest.raises(BadInput, match=word):
        Losses(**given)


def test_a_chance_beyond_one_is_refused():
    with pytest.raises(BadInput, match="outside 0 to 1"):
        failing_machines([1.2])
    with pytest.raises(BadInput, match="cannot be filled"):
        spares_for(-1, NO_LOSS)
