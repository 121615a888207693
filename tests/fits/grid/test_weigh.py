"""The grid: laws that add up, axes that close in, and sums against direct integration."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from fleet.fits.grid.settings import Sizes, first_axes, stress_points
from fleet.fits.grid.weigh import SPREADS, _kernel, weigh

EXACT = [{"low": t, "high": t} for t in (8.0, 11.0, 12.5, 14.0, 19.0)]
GOOD = [{"low": t} for t in (6.0, 9.0, 13.0, 15.0, 16.0, 18.0)]
ROWS = [*EXACT, *GOOD]


def _axes(small, held, sizes=(5, 9, 400, 4)):
    return first_axes(held, small.prior).laid(sizes)


def test_the_law_of_a_cell_given_its_centre_adds_up_to_one(small):
    held = small.evidence(*EXACT, origin=15.0)
    axes = _axes(small, held)
    axes = replace(axes, centre=np.array([-0.4, 0.013, 0.7]))
    kernel = _kernel(axes, np.array([0.0]))[0]
    middle = kernel[:, :, 1:6]  # wider than a step, and well inside the axis
    assert middle.sum(axis=0) == pytest.approx(np.ones((3, 5)), abs=1e-6)
    mean = np.einsum("s,smt->mt", axes.log_scale[0], middle)
    assert mean == pytest.approx(np.repeat(axes.centre[:, None], 5, 1), abs=1e-5)


@pytest.mark.parametrize("renewed", [0.0, 0.4])
def test_the_law_of_a_cell_has_the_spread_it_should(small, renewed):
    axes = replace(_axes(small, small.evidence(*EXACT, origin=15.0)), centre=np.zeros(1))
    kernel = _kernel(axes, np.array([renewed]))[0, :, 0, 2:5]
    step = axes.log_scale[0, 1] - axes.log_scale[0, 0]
    found = np.einsum("s,st->t", axes.log_scale[0] ** 2, kernel)
    # what is narrower than the steps of the grid is widened by 0.35 of a step
    assert found == pytest.approx(SPREADS[2:5] ** 2 + renewed**2 + (0.35 * step) ** 2, rel=1e-4)


def test_without_spread_the_law_of_a_cell_adds_up_to_one_on_average(small):
    # on nodes a step apart a law of sd 0.35 steps adds up to 1 + 2 cos(2 pi x) exp(-2 (0.35 pi)^2)
    # at x steps beside a node: between 0.82 and 1.18, and 1 on average over where the centre lies
    axes = _axes(small, small.evidence(*EXACT, origin=15.0))
    step = axes.log_scale[0, 1] - axes.log_scale[0, 0]
    beside = np.arange(200) / 200.0
    kernel = _kernel(replace(axes, centre=beside * step), np.zeros(1))[0, :, :, 0]
    first = (axes.log_scale[0, 0] / step) % 1.0
    wave = 2.0 * np.cos(2.0 * np.pi * (beside - first)) * math.exp(-2.0 * (0.35 * np.pi) ** 2)
    assert kernel.sum(axis=0) == pytest.approx(1.0 + wave, abs=1e-3)
    assert kernel.sum(axis=0).mean() == pytest.approx(1.0, abs=1e-6)


def test_prior_masses_of_the_spreads_are_those_of_the_half_normal_law(small):
    mass = np.exp(small.prior.log_spread(SPREADS))
    mass /= mass.sum()
    mean = small.prior.spread * math.sqrt(2.0 / math.pi)  # of a half-normal law
    assert (mass * SPREADS).sum() == pytest.approx(mean, rel=0.05)
    assert (mass * SPREADS**2).sum() == pytest.approx(small.prior.spread**2, rel=0.06)


def test_prior_masses_of_heat_and_use_add_up(small):
    rows = [
        {**row, "ambient_c": 20.0 + n, "hours_per_year": 500.0 * (n + 1)}
        for n, row in enumerate(EXACT)
    ]
    points = stress_points(_axes(small, small.evidence(*rows)), small.prior)
    idle = [math.exp(p.log_prior) for p in points if p.idle]
    rest = [math.exp(p.log_prior) for p in points if not p.idle]
    assert idle == [pytest.approx(0.2)]
    # strengths from 0.05 to 2 of N(1, 0.4), calendar shares from 0.02 to 0.98 of an even law
    inside = 0.5 * (math.erf(2.5 / math.sqrt(2.0)) + math.erf(2.375 / math.sqrt(2.0))) * 0.96
    assert sum(rest) == pytest.approx(0.8 * inside, rel=0.02)


@pytest.mark.parametrize(("share", "count"), [(0.0, 16), (1.0, 1)])
def test_heat_and_use_may_be_held_to_matter_always_or_never(small, share, count):
    rows = [
        {**row, "ambient_c": 20.0 + n, "hours_per_year": 500.0 * (n + 1)}
        for n, row in enumerate(EXACT)
    ]
    prior = replace(small.prior, idle_share=share)
    points = stress_points(_axes(small, small.evidence(*rows)), prior)
    assert len(points) == count
    assert {p.idle for p in points} == {share == 1.0}


def test_one_temperature_alone_tells_nothing_of_heat(small):
    rows = [{**row, "ambient_c": 30.0 if n == 0 else None} for n, row in enumerate(EXACT)]
    points = stress_points(_axes(small, small.evidence(*rows)), small.prior)
    assert [(p.strength, p.calendar) for p in points] == [(0.0, 1.0)]


def _direct(small, statistic):
    """Posterior mean and sd of a function of (shape, scale), one batch, by Simpson's rule.

    With one batch of original parts the spread only widens the law of its scale.
    """
    prior, mass = small.prior, np.exp(small.prior.log_spread(SPREADS))
    x, y = np.linspace(-1.0, 2.8, 401)[:, None], np.linspace(1.3, 5.5, 401)[None, :]
    shape, held = np.exp(x), np.zeros((401, 401))
    for row in ROWS:
        hazard = np.exp(shape * (math.log(row["low"]) - y))
        held = held - hazard + ("high" in row) * (x + np.log(hazard))
    away = (y[..., None] - math.log(prior.scale_years[0])) ** 2
    variance = prior.scale_years[1] ** 2 + SPREADS**2
    law = (mass * np.exp(-0.5 * away / variance) / np.sqrt(variance)).sum(axis=2)
    held = np.exp(held - held.max() + prior.log_shape(x)) * law
    value = statistic(shape, np.exp(y))
    whole, first, second = (
        integrate.simpson(integrate.simpson(f, x=y[0], axis=1), x=x[:, 0])
        for f in (held, held * value, held * value**2)
    )
    return first / whole, math.sqrt(second / whole - (first / whole) ** 2)


STATISTICS = {
    "log shape": lambda k, s: np.log(k) + 0.0 * s,
    "log scale": lambda k, s: np.log(s) + 0.0 * k,
    "chance within two years at ten": lambda k, s: -np.expm1((10.0 / s) ** k - (12.0 / s) ** k),
}


@pytest.mark.parametrize("what", STATISTICS)
def test_one_batch_by_direct_integration(small, what):
    mean, sd = _direct(small, STATISTICS[what])
    found = weigh(small.evidence(*ROWS, origin=15.0), np.array([False]), small.prior, Sizes())
    shape = np.exp(found.axes.log_shape)[:, None]
    scale = 15.0 * np.exp(found.axes.log_scale[0])[None, :]
    likely = np.exp(found.log_likelihood[0, 0] - found.log_likelihood[0, 0].max())
    prior = np.exp(
        small.prior.log_shape(found.axes.log_shape)[:, None, None]
        + small.prior.log_scale(found.axes.centre + math.log(15.0))[:, None]
        + small.prior.log_spread(SPREADS)
    )
    weight = likely * np.einsum("kmt,smt->ks", prior, found.kernel[0])
    weight /= weight.sum()
    value = STATISTICS[what](shape, scale)
    ours = (weight * value).sum()
    # steps of the grid are half a posterior sd or less; smooth sums are far better than that
    assert ours == pytest.approx(mean, abs=0.02 * sd)
    assert math.sqrt((weight * value**2).sum() - ours**2) == pytest.approx(sd, rel=0.03)
    assert found.weight.sum() == pytest.approx(1.0, rel=1e-12)


def test_finer_grids_agree(small):
    held = small.evidence(*ROWS, *ROWS, origin=15.0, cell=[0] * 11 + [1] * 11)
    renewed = np.array([False, True])
    fine = Sizes(rough=(20, 28, 40, 6), fine=(39, 60, 78, 8))

    def moments(sizes):
        found = weigh(held, renewed, small.prior, sizes)
        by_shape, by_centre = found.weight.sum(axis=(0, 2, 3)), found.weight.sum(axis=(0, 1, 3))
        axes = found.axes
        return [
            (mass * nodes**power).sum()
            for mass, nodes in ((by_shape, axes.log_shape), (by_centre, axes.centre))
            for power in (1, 2)
        ]

    rough, good = moments(Sizes()), moments(fine)
    sd = [math.sqrt(good[1] - good[0] ** 2), math.sqrt(good[3] - good[2] ** 2)]
    assert rough[0] == pytest.approx(good[0], abs=0.03 * sd[0])
    assert rough[2] == pytest.approx(good[2], abs=0.03 * sd[1])
