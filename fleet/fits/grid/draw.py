"""Draws from a weighed grid: the same every time, spread evenly over the weight.

Nodes of the grid are taken at even steps of their cumulative weight; each cell's log scale then at
even steps of its own law given the node, in an order that is shuffled once for all by the cell's
place. METHODS: posterior
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.weigh import SPREADS, Weighed

Floats = npt.NDArray[np.float64]

_SEED = 20  # of the order in which even steps meet; not of anything random in the records


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Draws:
    """Arrays over the draws; `log_scale` is (cells, draws). Logs in units of the origin."""

    shape: Floats
    centre: Floats
    spread: Floats
    strength: Floats
    calendar: Floats
    log_scale: Floats


def draw(found: Weighed, draws: int) -> Draws:
    """`draws` equally likely points of the posterior."""
    reached = np.cumsum(found.weight.ravel())
    places = np.searchsorted(reached, (np.arange(draws) + 0.5) / draws * reached[-1])
    point, shape, centre, spread = np.unravel_index(
        np.minimum(places, reached.size - 1), found.weight.shape
    )
    terms = found.log_likelihood[point, :, shape, :].transpose(1, 0, 2)
    law = found.kernel[:, :, centre, spread].transpose(0, 2, 1)
    mass = np.exp(terms - terms.max(axis=2, keepdims=True)) * law
    strength = np.array([p.strength for p in found.stress])
    calendar = np.array([p.calendar for p in found.stress])
    return Draws(
        shape=np.exp(found.axes.log_shape[shape]),
        centre=found.axes.centre[centre],
        spread=SPREADS[spread],
        strength=strength[point],
        calendar=calendar[point],
        log_scale=_at(mass, found.axes.log_scale, _even(len(mass), draws)),
    )


def even_normal(rows: int, draws: int) -> Floats:
    """(rows, draws) of the standard normal law, each row at even steps in an order of its own."""
    from scipy.special import ndtri

    return np.asarray(ndtri(_even(rows, draws, seed=_SEED + 1)))


def _even(rows: int, draws: int, seed: int = _SEED) -> Floats:
    steps = np.tile((np.arange(draws) + 0.5) / draws, (rows, 1))
    return np.asarray(np.random.default_rng(seed).permuted(steps, axis=1))


def _at(mass: Floats, nodes: Floats, share: Floats) -> Floats:
    """Where the cumulative mass over the nodes of each cell reaches a share, (cells, draws).

    `mass` is (cells, draws, nodes); each node's mass is spread evenly over its step.
    """
    reached = np.cumsum(mass, axis=2)
    wanted = (share * reached[:, :, -1])[:, :, None]
    place = np.minimum((reached < wanted).sum(axis=2), nodes.shape[1] - 1)[:, :, None]
    before = np.where(place > 0, np.take_along_axis(reached, np.maximum(place - 1, 0), 2), 0.0)
    inside = (wanted - before) / np.maximum(np.take_along_axis(mass, place, 2), 1e-300)
    step = (nodes[:, 1] - nodes[:, 0])[:, None]
    at = np.take_along_axis(nodes, place[:, :, 0], axis=1)
    return np.asarray(at + (np.clip(inside[:, :, 0], 0.0, 1.0) - 0.5) * step)
