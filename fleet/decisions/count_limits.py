"""How many of many will fail: limits of a count whose chances are themselves in doubt.

Given a draw of the posterior each machine fails or not by its own chance, so that the count is a
sum of unlike trials. Its law is taken as the binomial of the same mean and variance (compare Pekoz,
Rollin, Cekanavicius and Shwartz 2009, Journal of Applied Probability 46:1073-1085), two binomials
mixed where the number of trials is not whole; where all chances are small that is the Poisson. The
count foretold is the mixture of these laws over the draws. METHODS: expected-failures
"""

import numpy as np

from fleet.decisions.weibull_life import Floats

_ONE_BY_ONE = 40.0  # means up to which the chances of 0, 1, 2, ... are added up one by one
_AT_ONCE = 2_000_000  # numbers worked on together
_SPREADS = 7.0  # standard deviations beyond which no count is looked for
_MOST_TRIALS = 1e15  # nothing but a Poisson has more
_ENOUGH_TRIALS = 1e9  # more than this are a Poisson where few failures are expected
_NEARLY_SURE = 0.999  # chances above it count as it, so that the chance of none can be written down


def count_limits(
    mean: Floats, squares: Floats, weight: Floats, level: float
) -> tuple[Floats, Floats]:
    """Smallest counts with at least (1 - level) / 2 and (1 + level) / 2 at or below them.

    One row for each count, one column for each draw: `mean` is the sum of the chances, `squares`
    the sum of their squares (0 throughout: Poisson), `weight` adds up to anything above 0.

    >>> one = np.ones((1, 1))
    >>> [v.tolist() for v in count_limits(4.0 * one, 0.0 * one, one, 0.9)]
    [[1.0], [8.0]]
    """
    mean, squares = np.maximum(mean, 0.0), np.maximum(squares, 0.0)
    weight = weight / weight.sum(axis=1, keepdims=True)
    tails = ((1.0 - level) / 2.0, (1.0 + level) / 2.0)
    low, high = np.zeros(len(mean)), np.zeros(len(mean))
    largest = mean.max(axis=1, initial=0.0)
    order = np.argsort(largest)
    split = int(np.searchsorted(largest[order], _ONE_BY_ONE, side="right"))
    step = max(1, _AT_ONCE // max(mean.shape[1], 1))
    for first in range(0, split, step):  # rows of like size end after like numbers of steps
        rows = order[first : min(first + step, split)]
        low[rows], high[rows] = _added_up(mean[rows], squares[rows], weight[rows], tails)
    for first in range(split, len(order), step):
        rows = order[first : first + step]
        low[rows], high[rows] = (
            _by_halving(mean[rows], squares[rows], weight[rows], tail) for tail in tails
        )
    return low, high


def _added_up(
    mean: Floats, squares: Floats, weight: Floats, tails: tuple[float, float]
) -> tuple[Floats, Floats]:
    """By the chances of each count in turn, (rows, draws)."""
    trials = np.minimum(_trials(mean, squares), _ENOUGH_TRIALS)
    fewer = np.floor(trials)
    fewer = np.where(fewer < mean, np.ceil(trials), fewer)
    more = np.maximum(np.ceil(trials), fewer)
    part = np.divide(1.0 / trials - 1.0 / more, 1.0 / fewer - 1.0 / more,
                     out=np.ones_like(mean), where=more > fewer)  # fmt: skip
    largest = float(mean.max(initial=0.0))
    most = int(np.ceil(largest + _SPREADS * np.sqrt(largest) + 12.0))
    reached = np.zeros((most + 1, len(mean)))
    for count, share in ((fewer, part), (more, 1.0 - part)):
        chance = np.minimum(mean / count, _NEARLY_SURE)
        odds = chance / (1.0 - chance)
        term = weight * share * np.exp(count * np.log1p(-chance))
        for failures in range(most + 1):
            reached[failures] += term.sum(axis=1)
            term = term * np.maximum(count - failures, 0.0) * odds / (failures + 1.0)
    reached = np.cumsum(reached, axis=0)
    low, high = ((reached < tail * (1.0 - 1e-9)).sum(axis=0).astype(float) for tail in tails)
    return low, high


def _by_halving(mean: Floats, squares: Floats, weight: Floats, tail: float) -> Floats:
    """By the refined normal approximation, with its term for skewness (Volkova 1996, Theory of
    Probability and its Applications 40:791-794).
    """
    chance = mean / _trials(mean, squares)
    spread = np.sqrt(np.maximum(mean * (1.0 - chance), 1e-12))
    lean = (1.0 - 2.0 * chance) / spread
    below = np.full(len(mean), -1.0)
    above = np.ceil((mean + _SPREADS * spread).max(axis=1) + 1.0)
    while (above - below > 1.0).any():
        middle = np.floor((below + above) / 2.0)
        enough = (weight * _refined(middle[:, None], mean, spread, lean)).sum(axis=1) >= tail
        above, below = np.where(enough, middle, above), np.where(enough, below, middle)
    return np.asarray(above)


def _refined(count: Floats, mean: Floats, spread: Floats, lean: Floats) -> Floats:
    from scipy.special import ndtr

    x = (count + 0.5 - mean) / spread
    density = np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi)
    return np.asarray(np.clip(ndtr(x) + lean * (1.0 - x * x) * density / 6.0, 0.0, 1.0))


def _trials(mean: Floats, squares: Floats) -> Floats:
    """How many trials of one chance have that mean and that variance; not a whole number."""
    alike = np.divide(mean * mean, squares, out=np.full_like(mean, _MOST_TRIALS), where=squares > 0)
    return np.maximum(np.maximum(alike, mean), 1.0)
