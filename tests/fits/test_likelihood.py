"""The likelihood row by row, and the fast sums against it."""

import math

import numpy as np
import pytest

from fleet.fits.likelihood import (
    log_difference,
    row_log_likelihood,
    weibull_log_survival,
    weibull_survival,
)
from fleet.fits.rows import cut_rows
from fleet.fits.solver.terms import Terms

# one row of every kind: exact, censored, interval, left-censored; new, late; truncated from above
EVERY = [
    (0.0, 3.0, 3.0),
    (1.0, 4.0, 4.0, None, 2.5),
    (0.0, 6.0, None, None, 3.0),
    (2.0, 5.0, None),
    (0.0, 2.0, 5.0),
    (1.5, 1.5, 4.0),
    (0.0, 0.0, 2.0, None, 2.0),
    (0.0, 2.5, 2.5, 7.0),
    (1.0, 3.5, 3.5, 5.0),
    (0.5, 1.0, 2.0, 6.0),
    (0.0, 1.0, 4.0, 4.0),
]


def test_log_survival_far_out_is_exact():
    assert weibull_log_survival(np.array([5000.0]), 2.0, 1.0)[0] == -25_000_000.0


def test_survival_at_the_scale():
    assert weibull_survival(np.array([7.0]), 3.3, 7.0)[0] == pytest.approx(math.exp(-1.0))


def test_log_difference_near_and_far():
    # log(1 - exp(-x)) = log x - x / 2 + ... near 0 and -exp(-x) far out
    assert log_difference(np.array([1e-20]))[0] == pytest.approx(math.log(1e-20))
    assert log_difference(np.array([50.0]))[0] == pytest.approx(-math.exp(-50.0))
    assert log_difference(np.array([math.log(2.0)]))[0] == pytest.approx(-math.log(2.0))


def test_rows_by_hand_with_an_exponential_life(make_lives):
    # shape 1, scale 2: H(t) = t / 2
    got = row_log_likelihood(
        make_lives(
            [
                (0.0, 4.0, 4.0),  # log(1/2) - 2
                (2.0, 4.0, None, None, 3.0),  # 3 (-1)
                (2.0, 4.0, 6.0),  # log(e^-1 - e^-2)
                (0.0, 2.0, 2.0, 6.0),  # log(1/2) - 1 - log(1 - e^-3)
            ]
        ),
        1.0,
        2.0,
    )
    assert got == pytest.approx(
        [
            math.log(0.5) - 2.0,
            -3.0,
            math.log(math.exp(-1.0) - math.exp(-2.0)),
            math.log(0.5) - 1.0 - math.log(1.0 - math.exp(-3.0)),
        ]
    )


@pytest.mark.parametrize(("shape", "scale"), [(0.3, 4.0), (1.0, 2.0), (2.7, 5.0), (9.0, 3.0)])
def test_fast_sums_give_the_sum_of_the_rows(make_lives, shape, scale):
    lives = make_lives(EVERY)
    terms = Terms(cut_rows(lives, ()))
    c = shape * np.log(terms.typical / scale)
    value, _, _ = terms.at(np.array([[shape]])).value(c[None])
    assert value[0, 0] == pytest.approx(row_log_likelihood(lives, shape, scale).sum(), rel=1e-12)


@pytest.mark.parametrize(("b", "c"), [(0.4, 0.3), (1.7, 0.9), (3.0, -1.0)])
def test_slopes_and_curvatures_against_differences(make_lives, b, c):
    terms = Terms(cut_rows(make_lives(EVERY), ()))

    def at(shape, level):
        cut = terms.at(np.array([[shape]]))
        return cut, np.array([[level]])

    def slopes(shape, level):
        cut, here = at(shape, level)
        return np.array([v[0, 0] for v in cut.slopes(here)])

    def value(shape, level):
        cut, here = at(shape, level)
        return cut.value(here)[0][0, 0]

    h = 1e-5
    cut, here = at(b, c)
    by_value = [
        (value(b + h, c) - value(b - h, c)) / (2 * h),
        (value(b, c + h) - value(b, c - h)) / (2 * h),
    ]
    assert slopes(b, c) == pytest.approx(by_value, rel=1e-7, abs=1e-7)
    bb, bc, cc = (v[0, 0] for v in cut.hessian(here))
    in_b = (slopes(b + h, c) - slopes(b - h, c)) / (2 * h)
    in_c = (slopes(b, c + h) - slopes(b, c - h)) / (2 * h)
    assert [bb, bc] == pytest.approx(in_b, rel=1e-7, abs=1e-7)
    assert [bc, cc] == pytest.approx(in_c, rel=1e-7, abs=1e-7)
    _, slope, bend = cut.value(here)
    assert slope[0, 0] == pytest.approx(slopes(b, c)[1])
    assert bend[0, 0] == pytest.approx(cc)
