"""Draws: even over the weight, the same every time, joint within a model."""

import numpy as np
import pytest

from fleet.fits.grid.draw import _at, _even, draw, even_normal
from fleet.fits.grid.settings import Sizes
from fleet.fits.grid.weigh import SPREADS, weigh

ROWS = [
    *({"low": t, "high": t} for t in (8.0, 11.0, 12.5, 14.0, 19.0)),
    *({"low": t} for t in (6.0, 9.0, 13.0, 15.0, 16.0, 18.0)),
]


@pytest.fixture(scope="module")
def weighed(small):
    held = small.evidence(*ROWS, *ROWS, origin=15.0, cell=[0] * 11 + [1] * 11)
    return weigh(held, np.array([False, True]), small.prior, Sizes())


def test_even_steps_are_all_there_in_an_order_of_each_row():
    found = _even(3, 8)
    assert np.sort(found, axis=1) == pytest.approx(np.tile((np.arange(8) + 0.5) / 8, (3, 1)))
    assert not np.array_equal(found[0], found[1])
    assert np.array_equal(found, _even(3, 8))


def test_even_normal_has_the_moments_of_the_law():
    found = even_normal(2, 200)
    assert found.mean(axis=1) == pytest.approx([0.0, 0.0], abs=1e-12)
    # sd a little short: nothing lies beyond the middles of the outermost steps
    assert found.std(axis=1) == pytest.approx([1.0, 1.0], abs=0.01)


def test_the_place_where_a_cumulative_mass_is_reached():
    nodes = np.array([[0.0, 1.0, 2.0, 3.0]])
    mass = np.array([[[1.0, 2.0, 1.0, 0.0]] * 5])
    # masses lie evenly over a step around each node: -0.5 to 0.5, 0.5 to 1.5, 1.5 to 2.5
    found = _at(mass, nodes, np.array([[0.0, 0.125, 0.5, 0.75, 1.0]]))
    assert found == pytest.approx(np.array([[-0.5, 0.0, 1.0, 1.5, 2.5]]))


def test_draws_are_the_same_every_time(weighed):
    one, other = draw(weighed, 150), draw(weighed, 150)
    for name in ("shape", "centre", "spread", "strength", "calendar", "log_scale"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


def test_draws_have_the_moments_of_the_grid(weighed):
    found = draw(weighed, 400)
    weight, axes = weighed.weight, weighed.axes
    for values, nodes, others in (
        (np.log(found.shape), axes.log_shape, (0, 2, 3)),
        (found.centre, axes.centre, (0, 1, 3)),
        (found.spread, SPREADS, (0, 1, 2)),
    ):
        mass = weight.sum(axis=others)
        mean = (mass * nodes).sum()
        sd = np.sqrt((mass * nodes**2).sum() - mean**2)
        assert values.mean() == pytest.approx(mean, abs=0.06 * sd)
        assert values.std() == pytest.approx(sd, rel=0.08)


def test_draws_of_a_cell_follow_its_law(weighed):
    found = draw(weighed, 400)
    terms = weighed.log_likelihood[0]
    for cell in (0, 1):
        likely = np.exp(terms - terms.max(axis=(1, 2), keepdims=True))
        held = np.einsum("cks,csmt->ckmt", likely, weighed.kernel)
        back = np.einsum(
            "smt,kmt->ks", weighed.kernel[cell], weighed.weight[0] / np.maximum(held[cell], 1e-300)
        )
        mass = (likely[cell] * back).sum(axis=0)
        nodes = weighed.axes.log_scale[cell]
        mean = (mass * nodes).sum() / mass.sum()
        sd = np.sqrt((mass * nodes**2).sum() / mass.sum() - mean**2)
        assert found.log_scale[cell].mean() == pytest.approx(mean, abs=0.06 * sd)
        assert found.log_scale[cell].std() == pytest.approx(sd, rel=0.08)


def test_one_draw_is_a_draw(weighed):
    found = draw(weighed, 1)
    assert found.log_scale.shape == (2, 1)
    assert np.isfinite(found.log_scale).all()
