"""Which running sums of hazards the windows tie to one another. METHODS: turnbull.

In the running sums ``y`` a window says something of ``y(end) - y(start)`` alone. Where every window
adds to the bend, it is that of a graph with the ages between cells as nodes and the windows as
edges: what is not joined to the start by edges can move freely, all that is joined together alike.
"""

from dataclasses import replace

import numpy as np

from fleet.fits.curves.windows import Bend
from fleet.fits.rows import Floats, Ints, group_sum

_FLAT = 1e-9  # eigenvalues of the bend, its diagonal being 1, below which nothing changes
_PINNED = 1e8  # times as much as is known of a cell: as good as known


def free_reach(bend: Bend) -> Floats:
    """How far each running sum moves with nothing changing, in steps of the hazards' own size."""
    if len(bend.parts[1][1]):
        return _reach_by_eigenvalues(bend)
    part = _parts(bend)
    diagonal = bend.diagonal()
    across = part[1:] != part[:-1]
    # a part moves by the hazards at its edges, one up and the next down
    sizes = diagonal[across]
    apart = group_sum(part[1:][across], sizes, bend.size + 1)
    apart += group_sum(part[:-1][across], sizes, bend.size + 1)
    apart[part[0]] = np.inf
    return np.asarray(1.0 / np.sqrt(np.maximum(apart, 1e-300)))[part[1:]]


def pinned(bend: Bend) -> Bend:
    """The bend with everything tied to the start: what moves freely moves with the age before it,
    which changes nothing of what does not.
    """
    part = _parts(bend)
    first = np.ones(len(part), dtype=bool)
    first[np.unique(part, return_index=True)[1]] = False
    loose = np.flatnonzero(~first[1:])
    if not len(loose):
        return bend
    alone = bend.alone.copy()
    alone[loose] += _PINNED * bend.diagonal()[loose]
    return replace(bend, alone=alone)


def _parts(bend: Bend) -> Ints:
    """The part to which each running sum belongs, from before the first cell on."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    window, weight = bend.parts[0]
    told = weight > 0.0
    cell = np.flatnonzero(bend.alone > 0.0)
    start = np.concatenate((window.start[told], cell))
    end = np.concatenate((window.end[told], cell + 1))
    size = bend.size + 1
    table = coo_matrix((np.ones(len(start)), (start, end)), shape=(size, size))
    return np.asarray(connected_components(table, directed=False)[1], dtype=np.int64)


def _reach_by_eigenvalues(bend: Bend) -> Floats:
    """The same where windows known from above take from the bend."""
    from scipy.linalg import LinAlgError, cholesky

    size = 1.0 / np.sqrt(np.maximum(bend.diagonal(), 1e-300))
    scaled = bend.matrix() * size * size[:, None]
    try:
        cholesky(scaled - _FLAT * np.eye(bend.size), lower=True, check_finite=False)
    except LinAlgError:
        values, vectors = np.linalg.eigh(scaled)
        moves = size[:, None] * vectors[:, values < _FLAT]
        return np.asarray(np.abs(np.cumsum(moves, axis=0)).max(axis=1, initial=0.0))
    return np.zeros(bend.size)
