"""Failures of sources that never said since when they collect: older ones are told less often.

Taken to be told in proportion to exp(-(known_by - age) / memory), a failure at age t among those
that could have been told by known_by has the density f(t) w(t) / integral of f w; the integral is
taken over equal steps of age. Several memories are tried, and the records weigh them.
METHODS: forgetting
"""

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.grid.row_terms import add_by_cell, powers
from fleet.fits.grid.stress import NODE_WEIGHTS

Floats = npt.NDArray[np.float64]

MEMORIES = (3.0, 6.0, 12.0, np.inf)  # years; equally likely before the records are seen
_STEPS = 20


def forgetting_terms(
    rows: Evidence,
    log_factors: Floats,
    shape: Floats,
    log_scale: Floats,
    memories: Floats,
) -> Floats:
    """(memories, cells, shapes, scales): log weight told less log of the integral, of forgetful
    rows. `log_factors` is (rows, nodes), `memories` in the unit of the ages.
    """
    out = np.zeros((len(memories), rows.cells, shape.size, log_scale.shape[1]))
    if not rows.cell.size:
        return out
    shrink = np.exp(-shape[None, :, None] * log_scale[:, None, :])[rows.cell][:, None]
    edges = np.linspace(0.0, 1.0, _STEPS + 1)
    ages = rows.entry[:, None] + edges * (rows.known_by - rows.entry)[:, None]
    hazard = [
        powers(ages[:, n, None], log_factors, shape)[..., None] * shrink for n in range(_STEPS + 1)
    ]
    # not the difference of two survivals: far below the scale both round to 1
    died = [np.exp(-a) * -np.expm1(a - b) for a, b in pairwise(hazard)]
    middle = (rows.low + rows.high) / 2.0
    for place, memory in enumerate(memories):
        told = np.exp(-(rows.known_by[:, None] - ages) / memory)
        share = (told[:, 1:] + told[:, :-1]) / 2.0
        heard = sum(share[:, n, None, None, None] * died[n] for n in range(_STEPS))
        chance = (heard * NODE_WEIGHTS[:, None, None]).sum(axis=1)
        logs = -np.log(np.maximum(chance, 1e-300))
        logs = logs - ((rows.known_by - middle) / memory)[:, None, None]
        out[place] = add_by_cell(rows.cell, rows.count[:, None, None] * logs, rows.cells)
    return out
