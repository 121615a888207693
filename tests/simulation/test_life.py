"""Laws of life: by hand, by their inverses, and by counting draws."""

import numpy as np
import pytest
from fleets.life import Law, Sets
from fleets.world import draw_lives

LAWS = [
    Law(form="weibull", shape=3.0),
    Law(form="weibull", shape=0.8),
    Law(form="failure_free", shape=1.5, free=0.4),
    Law(form="lognormal", shape=3.0),
]


def test_hazards_by_hand():
    assert Law(form="weibull", shape=2.0).hazard(3.0) == 9.0
    # A quarter of the scale nothing fails; then (1 - 1/4) is the unit.
    late = Law(form="failure_free", shape=2.0, free=0.25)
    assert late.hazard([0.1, 0.25, 1.0, 1.75]).tolist() == [0.0, 0.0, 1.0, 4.0]
    # One in five lives half as long: S(1) = 0.8 e^-1 + 0.2 e^-4 at shape 2.
    mixed = Law(form="bad_share", shape=2.0, bad_factor=0.5)
    expected = 0.8 * np.exp(-1.0) + 0.2 * np.exp(-4.0)
    assert np.exp(-mixed.hazard(1.0, 0.2)) == pytest.approx(expected, rel=1e-14)
    assert mixed.hazard(1.0, 0.0) == pytest.approx(1.0, rel=1e-14)


def test_the_lognormal_has_the_median_and_spread_of_its_weibull():
    law = Law(form="lognormal", shape=2.0)
    assert np.exp(-law.hazard(np.log(2.0) ** 0.5)) == pytest.approx(0.5, rel=1e-12)
    # The logarithm of a Weibull life has standard deviation pi / (shape sqrt 6).
    logs = np.log(draw_lives(np.random.default_rng(1), law, (200_000, 2)).min(axis=1))
    weibull = np.log(np.random.default_rng(2).weibull(2.0, 200_000))
    assert logs.std() == pytest.approx(weibull.std(), rel=0.01)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.form} {law.shape}")
def test_age_at_undoes_hazard(law):
    hazard = np.array([1e-6, 0.01, 0.5, 1.0, 3.0, 20.0])
    assert law.hazard(law.age_at(hazard)) == pytest.approx(hazard, rel=1e-9)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.form} {law.shape}")
def test_the_first_of_two_positions_fails_by_the_law_of_the_set(law):
    count = 100_000
    first = draw_lives(np.random.default_rng(5), law, (count, 2)).min(axis=1)
    at = law.age_at([0.1, 0.7, 2.0])
    share = (first[:, None] > at).mean(axis=0)
    expected = np.exp(-law.hazard(at))
    assert (np.abs(share - expected) < 4.0 * np.sqrt(0.25 / count)).all()


def test_a_set_renewed_in_part_adds_half_of_each_hazard():
    # Shape 2, scale 100: the old position is 100 days old at the start, the new one 0.
    sets = Sets(
        law=Law(form="weibull", shape=2.0),
        start=np.array([[0.0, 100.0]]),
        scale=np.full((1, 2), 100.0),
        bad=np.zeros(1),
    )
    assert sets.hazard(np.array([100.0]))[0] == 0.5
    assert sets.hazard(np.array([200.0]))[0] == 2.5  # (4 + 1) / 2
    assert sets.chance(100.0, 200.0)[0] == pytest.approx(1.0 - np.exp(-2.0))
