"""The posterior on its grid against a long Monte Carlo run of the same model.

quantiles.json is made by `python tests/fits/sampler/remake.py` from the invented sets of lives.csv;
the model there (by_definition.py) is written from its definition and shares nothing with the
package. Tolerances are in posterior standard deviations: three Monte Carlo errors of the run, plus
what the grid is off. Draws stand on the nodes of shape, centre and spread, which are 0.5 to 0.7
standard deviations apart: quantiles of draws of those three are off by as much, and those of
batches by up to 0.17, while means, and the law on the grid itself, are right to 0.1.
"""

import json
from pathlib import Path

import numpy as np
import polars as pl
import pytest
import random_walk
import sets
from scipy.interpolate import CubicSpline

from fleet.fits import row_log_likelihood, weibull_posterior
from fleet.fits.grid.evidence import evidence_of
from fleet.fits.grid.settings import Sizes
from fleet.fits.grid.weigh import SPREADS, weigh
from fleet.frames import LIFE

FILE = json.loads(Path(__file__).with_name("quantiles.json").read_text())
RUN, SETS = FILE["run"], FILE["sets"]
ON_NODES = ("shape", "centre", "spread")
DRAWS = 2000
MEAN, SPREAD, STEP, QUANTILE, LAW = 0.06, 0.10, 0.75, 0.18, 0.10


def _each(kind):
    return [(name, what) for name in SETS for what in SETS[name]["found"] if kind(what)]


@pytest.fixture(scope="module")
def drawn():
    """For each set, draws of what the run summed up, and the posterior they come from."""
    out = {}
    for name in SETS:
        found = weibull_posterior(sets.evidence(name), year=1.0, prior=sets.prior(), draws=DRAWS)
        named, cells = found.named(), SETS[name]["cells"]
        values = {}
        for place, (parts, batch) in enumerate(cells):
            mine = named.filter((pl.col("parts") == parts) & (pl.col("batch") == batch))
            shape, scale = mine["shape"].to_numpy(), mine["scale"].to_numpy()
            start, end = ((a / scale) ** shape for a in (RUN["age"], RUN["age"] + RUN["years"]))
            values[f"scale {place}"] = scale
            values[f"chance {place}"] = -np.expm1(start - end)
        values |= {c: mine[c].to_numpy() for c in (*ON_NODES, "heat", "calendar")}
        values["idle"] = (values["heat"] == 0.0).astype(float)
        out[name] = values, found
    return out


def test_the_sampler_finds_a_law_that_is_known():
    root = np.array([[1.0, 0.0], [0.8, 0.6]])
    inverse = np.linalg.inv(root @ root.T)

    def log_target(x):
        return -0.5 * np.einsum("ni,ij,nj->n", x - 3.0, inverse, x - 3.0)

    starts = np.random.default_rng(1).normal(0.0, 1.0, (64, 2))
    draws, taken = random_walk.run(log_target, starts, warm_up=400, kept=500, thin=4, seed=2)
    assert 0.2 < taken < 0.6
    for place in (0, 1):
        found = random_walk.summed_up(draws[:, :, place])
        assert found["mean"] == pytest.approx(3.0, abs=4.0 * found["mean_error"])
        assert found["sd"] == pytest.approx(1.0, abs=0.03)
        wanted = 3.0 + np.array([-1.644854, -0.674490, 0.0, 0.674490, 1.644854])
        off = np.abs(np.array(found["quantiles"]) - wanted)
        assert np.all(off < 5.0 * np.array(found["quantile_errors"]))
        assert 0.02 * draws[..., 0].size < found["effective"]
    assert np.corrcoef(draws.reshape(-1, 2).T)[0, 1] == pytest.approx(0.8, abs=0.02)


@pytest.mark.parametrize("name", ["one batch", "four batches", "no failure"])
def test_the_sampler_has_the_one_likelihood(name):
    model, lives = sets.model(name), sets.evidence(name)
    shape, scale = 2.7, 16.0
    known = lives.filter(pl.col("other_low").is_null())
    wanted = row_log_likelihood(known.select(LIFE.names()), shape, scale).sum()
    unsure = lives.filter(pl.col("other_low").is_not_null())
    failed = row_log_likelihood(unsure.select(LIFE.names()), shape, scale)
    entry, other, chance = (unsure[c].to_numpy() for c in ("entry", "other_low", "other_chance"))
    lived = (entry / scale) ** shape - (other / scale) ** shape
    wanted += np.logaddexp(failed, np.log(chance) + lived).sum()
    theta = np.zeros((1, model.dimensions))
    theta[:, :3] = np.log(shape), np.log(scale), 0.1
    assert model.log_likelihood(theta)[0] == pytest.approx(wanted, rel=1e-12)


def test_the_run_was_long_enough():
    assert tuple(SETS) == sets.names()
    for name, entry in SETS.items():
        assert [list(pair) for pair in sets.cells(name)] == entry["cells"]
        assert 0.15 < entry["taken"] < 0.6
        for what, found in entry["found"].items():
            assert found["effective"] > 3000, (name, what)
            assert max(found["quantile_errors"]) < 0.06 * found["sd"], (name, what)


def test_what_is_blank_has_the_law_that_the_run_was_given(drawn):
    for name, (_, found) in drawn.items():
        law = found.cells.select("mean_c", "sd_c", "mean_log_hours", "sd_log_hours").row(0)
        if name in sets.LAWS:
            assert law == pytest.approx(sets.LAWS[name], rel=1e-6)
        else:
            assert law[0] is None


@pytest.mark.parametrize(("name", "what"), _each(lambda what: True))
def test_means_and_standard_deviations(drawn, name, what):
    run, values = SETS[name]["found"][what], drawn[name][0][what]
    sd = max(run["sd"], 1e-2)
    assert values.mean() == pytest.approx(run["mean"], abs=3.0 * run["mean_error"] + MEAN * sd)
    if what == "scale 1" and name == "no failure":
        return  # a batch without failures: the far tail makes the sd, and no decision
    assert values.std() == pytest.approx(run["sd"], abs=SPREAD * sd)


@pytest.mark.parametrize(("name", "what"), _each(lambda what: what.startswith(("scale", "chance"))))
def test_quantiles_of_batches(drawn, name, what):
    run, values = SETS[name]["found"][what], drawn[name][0][what]
    off = np.abs(np.quantile(values, random_walk.SHARES) - run["quantiles"])
    limits = 3.0 * np.array(run["quantile_errors"]) + QUANTILE * run["sd"]
    assert np.all(off < limits), (off / run["sd"]).round(3)


@pytest.mark.parametrize(("name", "what"), _each(lambda what: what in ON_NODES))
def test_quantiles_of_what_stands_on_nodes(drawn, name, what):
    run, values = SETS[name]["found"][what], drawn[name][0][what]
    off = np.abs(np.quantile(values, random_walk.SHARES) - run["quantiles"])
    assert np.all(off < STEP * run["sd"]), (off / run["sd"]).round(3)


@pytest.fixture(scope="module")
def weighed():
    """The grid of each set, before any draw."""
    out = {}
    for name in SETS:
        prior, order = sets.prior(), sets.cells(name)
        lives = sets.evidence(name)
        cell = [order.index(pair) for pair in lives.select("parts", "batch").rows()]
        rows = lives.with_columns(cell=pl.Series(cell, dtype=pl.Int64))
        held = evidence_of(rows, cells=len(order), origin=prior.scale_years[0], year=1.0)
        renewed = np.array([parts == "replaced" for parts, _ in order])
        out[name] = weigh(held, renewed, prior, Sizes()), prior.scale_years[0]
    return out


def _quantiles(weighed, what):
    """Of a law that is known at nodes: its log density joined by a cubic curve."""
    found, origin = weighed
    axis = {"shape": 1, "centre": 2, "spread": 3}[what]
    mass = found.weight.sum(axis=tuple(n for n in range(4) if n != axis))
    nodes = {"shape": found.axes.log_shape, "centre": found.axes.centre, "spread": SPREADS}[what]
    middles = (nodes[1:] + nodes[:-1]) / 2.0
    first = 0.0 if what == "spread" else 2.0 * nodes[0] - middles[0]
    width = np.diff([first, *middles, 2.0 * nodes[-1] - middles[-1]])
    fine = np.linspace(nodes[0], nodes[-1], 4001)
    density = np.exp(CubicSpline(nodes, np.log(mass / width))(fine))
    below = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)))
    at = np.interp(random_walk.SHARES, below / below[-1], fine)
    return at if what == "spread" else np.exp(at) * (origin if what == "centre" else 1.0)


@pytest.mark.parametrize(("name", "what"), _each(lambda what: what in ON_NODES))
def test_quantiles_of_the_law_on_the_grid(weighed, name, what):
    run = SETS[name]["found"][what]
    off = np.abs(_quantiles(weighed[name], what) - run["quantiles"])
    limits = 3.0 * np.array(run["quantile_errors"]) + LAW * run["sd"]
    assert np.all(off < limits), (off / run["sd"]).round(3)
