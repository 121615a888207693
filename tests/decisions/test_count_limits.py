"""Limits of a count of failures: by hand, against the exact law, against published tables."""

import numpy as np
import pytest
from scipy import stats

from fleet.decisions.count_limits import count_limits


def limits(chances, *, weight=None, level=0.90):
    """Limits of one count; `chances` is (draws, machines)."""
    chances = np.atleast_2d(np.asarray(chances, float))
    weight = np.ones(len(chances)) if weight is None else np.asarray(weight, float)
    low, high = count_limits(
        chances.sum(axis=1)[None, :], (chances**2).sum(axis=1)[None, :], weight[None, :], level
    )
    return low.item(), high.item()


def exact(chances, weight=None):
    """The law of the count by convolution, mixed over the draws."""
    chances = np.atleast_2d(np.asarray(chances, float))
    weight = np.ones(len(chances)) if weight is None else np.asarray(weight, float)
    laws = []
    for row in chances:
        law = np.ones(1)
        for p in row:
            law = np.convolve(law, [1.0 - p, p])
        laws.append(law)
    return np.cumsum(np.average(laws, axis=0, weights=weight))


def test_two_machines_by_hand():
    # Chances 1/2 and 1/2: 0, 1, 2 failures in 1, 2, 1 of 4. At or below: 0.25, 0.75, 1.
    assert limits([0.5, 0.5], level=0.90) == (0.0, 2.0)
    assert limits([0.5, 0.5], level=0.40) == (1.0, 1.0)


def test_one_machine_never_fails_twice():
    assert limits([0.97], level=0.90) == (1.0, 1.0)
    assert limits([0.5], level=0.999) == (0.0, 1.0)


def test_certain_failures_are_counted():
    assert limits([1.0, 1.0, 1.0]) == (3.0, 3.0)


def test_nothing_is_expected_of_nobody():
    low, high = count_limits(np.zeros((1, 3)), np.zeros((1, 3)), np.ones((1, 3)), 0.9)
    assert (low.item(), high.item()) == (0.0, 0.0)


@pytest.mark.parametrize("mean", [0.02, 0.7, 5.0, 40.0, 99.0, 101.0, 2_500.0, 1e6])
@pytest.mark.parametrize("level", [0.5, 0.9, 0.99])
def test_many_rare_failures_are_poisson(mean, level):
    """scipy 1.17's quantiles of the Poisson law."""
    one = np.ones((1, 1))
    found = [v.item() for v in count_limits(mean * one, 0.0 * one, one, level)]
    wanted = [stats.poisson.ppf(q, mean) for q in ((1 - level) / 2, (1 + level) / 2)]
    assert found == wanted


@pytest.mark.parametrize(("machines", "chance"), [(3, 0.4), (40, 0.05), (300, 0.3), (5_000, 0.6)])
def test_like_machines_are_binomial(machines, chance):
    """scipy 1.17's quantiles of the binomial law."""
    assert limits(np.full(machines, chance)) == tuple(
        stats.binom.ppf(q, machines, chance) for q in (0.05, 0.95)
    )


def test_unlike_machines_and_draws_against_the_exact_law():
    rng = np.random.default_rng(3)
    for machines in (2, 5, 12, 60, 400):
        scale = rng.uniform(0.02, 0.9)
        chances = np.clip(rng.beta(1.0, 4.0, (40, machines)) * scale * 3, 0.0, 1.0)
        weight = rng.uniform(0.5, 1.5, 40)
        law = exact(chances, weight)
        for level in (0.5, 0.8, 0.9, 0.98):
            got = limits(chances, weight=weight, level=level)
            for count, tail in zip(got, ((1 - level) / 2, (1 + level) / 2), strict=True):
                # The count named, or one whose chance to be reached is the tail to a hundredth.
                count = int(count)
                before = law[count - 1] if count else 0.0
                assert before - 0.01 <= tail <= law[count] + 0.01


def test_rows_do_not_depend_on_each_other():
    rng = np.random.default_rng(4)
    mean = rng.gamma(2.0, 30.0, (50, 20))
    squares = mean * rng.uniform(0.0, 0.5, (50, 20))
    weight = np.ones((50, 20))
    together = count_limits(mean, squares, weight, 0.9)
    alone = [count_limits(mean[[n]], squares[[n]], weight[[n]], 0.9) for n in range(50)]
    assert np.array_equal(np.stack(together).T, np.array(alone)[:, :, 0])


def test_doubt_about_the_chances_widens_the_limits():
    sure = limits(np.full((2, 200), 0.1))
    doubt = limits(np.array([[0.04] * 200, [0.16] * 200]))
    assert doubt[0] < sure[0] < sure[1] < doubt[1]


def test_chances_near_0_and_1_among_few_machines():
    """Against the exact law: two moments do not say everything of a few very unlike machines, but
    no count is off by more than one, and one in twenty is off at all.
    """
    rng = np.random.default_rng(5)
    off = []
    for _ in range(500):
        chances = rng.beta(rng.uniform(0.3, 3.0), rng.uniform(0.3, 3.0), rng.integers(1, 30))
        law = exact(chances)
        for level in (0.5, 0.9):
            got = limits(chances, level=level)
            wanted = [(law < tail).sum() for tail in ((1 - level) / 2, (1 + level) / 2)]
            off += [abs(g - w) for g, w in zip(got, wanted, strict=True)]
    assert max(off) <= 1.0
    assert np.mean(off) < 0.08
