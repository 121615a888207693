"""Do failures at different places come at different ages? METHODS: pooling."""

import numpy as np

from fleet.fits.rows import Floats, Ints

DRAWS = 999


def modes_by_age(age: Floats, mode: Ints, *, seed: int) -> tuple[float, float]:
    """Kruskal and Wallis' statistic of the ages of failures by mode, and its permutation p-value.

    While the failure rates of the modes stay in one proportion, which mode a failure is of says
    nothing of its age, however lives were watched: labels may be dealt out anew over the failures
    that happened, and the p-value is exact (but for the number of dealings). So one shape serves
    all modes, and the first of them to come has that shape too. Ties take their middle rank.
    W. Kruskal and W. Wallis 1952, J. Am. Statist. Assoc. 47:583-621.
    """
    n, width = len(age), int(mode.max()) + 1
    _, place, times = np.unique(age, return_inverse=True, return_counts=True)
    last = np.cumsum(times)
    rank = (last - 0.5 * (times - 1))[place]
    ties = 1.0 - float((times**3 - times).sum()) / max(n**3 - n, 1)
    size = np.bincount(mode, minlength=width).astype(np.float64)

    def statistic(ranks: Floats) -> Floats:
        sums = np.stack([ranks[..., mode == m].sum(axis=-1) for m in range(width)], axis=-1)
        spread = (sums**2 / size).sum(axis=-1) * 12.0 / (n * (n + 1)) - 3.0 * (n + 1)
        return np.asarray(spread / ties)

    if ties <= 0.0:
        return 0.0, 1.0
    seen = float(statistic(rank))
    rng = np.random.default_rng(seed)
    dealt = statistic(rng.permuted(np.tile(rank, (DRAWS, 1)), axis=1))
    return seen, float((1 + (dealt >= seen - 1e-9).sum()) / (1 + DRAWS))
