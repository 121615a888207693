"""Where there is no estimate: each edge of the likelihood, its limit worked out by hand."""

import math

import pytest

from fleet.fits import fit_weibull
from fleet.fits.rows import cut_rows
from fleet.fits.solver.existence import find_edges
from fleet.fits.solver.terms import Terms


def fit(lives):
    return fit_weibull(lives).row(0, named=True)


def edges(lives):
    rows = cut_rows(lives, ())
    return find_edges(rows, Terms(rows))


NONE = {
    "no failure": ([(0.0, 10.0, None)] * 20, "no failure"),
    "no lives": ([], "no lives"),
    "longest of five": (
        [(0.0, a, 5.0 if a == 5.0 else None) for a in (1.0, 2.0, 3.0, 4.0, 5.0)],
        "single failure age",
    ),
    "censored at the failure age": ([(0.0, 5.0, 5.0), (0.0, 5.0, None)], "single failure age"),
    "all before the first look": ([(0.0, 0.0, 5.0), (1.0, 1.0, 7.0)], "before the first look"),
    "intervals that overlap": (
        [(0.0, 3.0, 10.0), (0.0, 5.0, 20.0), (0.0, 4.0, None)],
        "one and the same age",
    ),
    "one inspection age": (
        [(0.0, 0.0, 10.0, None, 2.0), (0.0, 10.0, None)],
        "one and the same age",
    ),
    "rarer with age, inspections": (
        [
            (0.0, 0.0, 10.0, None, 5.0),
            (0.0, 10.0, None, None, 5.0),
            (0.0, 0.0, 20.0, None, 2.0),
            (0.0, 20.0, None, None, 8.0),
        ],
        "rarer with age",
    ),
    "rarer with age, delayed entry": (
        [(5.0, 5.1, 5.1), (5.0, 5.2, 5.2), (6.0, 6.1, 6.1), (5.0, 20.0, 20.0), (6.0, 60.0, None)],
        "rarer with age",
    ),
    "seen failing as late as could be": (
        [(0.0, 6.0, 6.0, 6.0), (0.0, 7.0, 7.0, 7.0), (0.0, 3.0, 3.0, 8.0)],
        "only because it happened",
    ),
    "vacuous": ([(0.0, 0.0, 5.0, 5.0)], "any age of the window"),
}


@pytest.mark.parametrize("name", NONE)
def test_no_estimate_and_why(make_lives, name):
    rows, words = NONE[name]
    row = fit(make_lives(rows))
    assert row["exists"] is False
    assert words in row["reason"]
    assert (row["shape"], row["scale"], row["b10"], row["log_likelihood"]) == (None,) * 4


def test_one_failure_that_others_outlast_is_enough(make_lives):
    row = fit(make_lives([(0.0, 5.0, 5.0), (0.0, 6.0, None)]))
    assert row["exists"]
    # D/b + log t = (t^b log t + l^b log l) / ((t^b + l^b) / D), by hand from the score
    b = row["shape"]
    t, last = 5.0**b, 6.0**b
    left = 1.0 / b + math.log(5.0)
    assert left == pytest.approx((t * math.log(5.0) + last * math.log(6.0)) / (t + last))


def test_power_law_limit_in_closed_form(make_lives):
    # scale to infinity: f(x) / F(v) -> b x^(b-1) / v^b, largest at b = n / sum log(v / x)
    rows = [(0.0, 6.0, 6.0, 6.0), (0.0, 7.0, 7.0, 7.0), (0.0, 3.0, 3.0, 8.0)]
    b = 3.0 / sum(math.log(v / x) for _, x, _, v in rows)
    top = sum(math.log(b) + (b - 1.0) * math.log(x) - b * math.log(v) for _, x, _, v in rows)
    # limits of the shape are those of the power law where the scale is best at infinity
    row = fit(make_lives(rows))

    def power_law(shape):
        return sum(
            math.log(shape) + (shape - 1.0) * math.log(x) - shape * math.log(v)
            for _, x, _, v in rows
        )

    assert row["scale_high"] is None
    assert row["b10_high"] is None
    assert power_law(row["shape_low"]) == pytest.approx(top - 0.5 * 3.841458820694124, abs=1e-8)


def test_power_law_past_the_entries_as_shape_runs_to_0(make_lives):
    # P(T > t | T > e) = (e / t)^k with k = failures / sum log(low / entry)
    rows = [(5.0, 5.1, 5.1), (5.0, 5.2, 5.2), (6.0, 6.1, 6.1), (5.0, 20.0, 20.0), (6.0, 60.0, None)]
    total = sum(math.log(low / e) for e, low, _ in rows)
    k = 4.0 / total
    want = sum(math.log(k) - math.log(low) for _, low, high in rows if high) - k * total
    found = edges(make_lives(rows))
    assert found.at_zero[0] == pytest.approx(want, rel=1e-12)
    assert found.at_infinity[0] == -math.inf


def test_part_at_once_and_the_rest_never_as_shape_runs_to_0(make_lives):
    rows = [(0.0, 0.0, 10.0, None, 5.0), (0.0, 10.0, None, None, 5.0), (0.0, 20.0, None, None, 8.0)]
    want = 5.0 * math.log(5.0 / 18.0) + 13.0 * math.log(13.0 / 18.0)
    assert edges(make_lives(rows)).at_zero[0] == pytest.approx(want)


def test_one_age_for_all_as_shape_runs_to_infinity(make_lives):
    # 2 of 3 seen failed at age 10, the third good at 10: shares 2/3 and 1/3
    found = edges(make_lives([(0.0, 0.0, 10.0, None, 2.0), (0.0, 10.0, None)]))
    assert found.at_infinity[0] == pytest.approx(2 * math.log(2 / 3) + math.log(1 / 3))
    # intervals with ages in common: chance 1
    assert edges(make_lives([(0.0, 3.0, 10.0), (0.0, 5.0, 20.0)])).at_infinity[0] == 0.0


def test_bounds_are_given_where_the_likelihood_gives_them(make_lives):
    row = fit(make_lives([(0.0, 3.0, 10.0), (0.0, 5.0, 20.0), (0.0, 4.0, None)]))
    assert row["shape_low"] > 1.0
    assert row["shape_high"] is None
    assert row["scale_low"] < 5.0 < 10.0 < row["scale_high"]
    # 20 good ones at 10: a shape as steep as one likes puts the scale just beyond 10
    row = fit(make_lives([(0.0, 10.0, None)] * 20))
    assert row["scale_low"] == pytest.approx(10.0)
    assert (row["shape_low"], row["shape_high"], row["scale_high"]) == (None, None, None)
