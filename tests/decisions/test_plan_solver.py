"""Plans against all plans, and against taking jobs by date."""

import itertools
import sys

import numpy as np
import pytest

from fleet.decisions import plan_solver
from fleet.decisions.plan_greedy import plan_by_date
from fleet.decisions.plan_prices import prices_of
from fleet.decisions.plan_problem import Problem
from fleet.decisions.plan_quiet import quiet_stdout
from fleet.decisions.plan_shares import bound_by_shares
from fleet.decisions.plan_solver import solve


def problem(seed, *, jobs=6, models=2, months=3, setup=0.75, rate=12.0, capacity=4.0, purse=np.inf):
    """Jobs whose best month is anywhere, of machines that fail at all rates."""
    rng = np.random.default_rng(seed)
    best = rng.integers(0, months + 1, jobs)
    slope = rng.uniform(0.2, 6.0, (jobs, 2))
    away = np.arange(months + 1)[None, :] - best[:, None]
    cost = np.where(away > 0, slope[:, :1] * away, -slope[:, 1:] * away)
    model = rng.integers(0, models, jobs)
    model[:models] = np.arange(models)
    return Problem(
        cost=cost,
        model=model,
        hours=rng.choice([0.75, 1.0, 1.5, 2.0], models),
        spend=rng.uniform(20.0, 60.0, models).round(),
        capacity=np.full(months, capacity),
        purse=np.full(months, purse),
        setup_hours=setup,
        setup_cost=setup * rate,
    )


def cheapest(one):
    """By trying every plan."""
    jobs, slots = one.cost.shape
    found = np.inf
    for months in itertools.product(range(slots), repeat=jobs):
        month = np.array(months)
        if one.fits(month):
            found = min(found, one.total(month))
    return found


def by_date(one):
    due = one.cost.argmin(axis=1)
    return plan_by_date(one, np.argsort(due, kind="stable"), due)


LIMITS = {
    "hours": {},
    "hours that bind": {"capacity": 2.6},
    "a budget": {"capacity": np.inf, "purse": 90.0},
    "both": {"purse": 110.0},
    "neither": {"capacity": np.inf},
    "nothing to set up": {"setup": 0.0},
    "setting up for hours alone": {"rate": 0.0},
}


@pytest.mark.parametrize("limits", LIMITS.values(), ids=LIMITS)
@pytest.mark.parametrize("seed", range(4))
def test_small_plans_are_the_best_of_all(seed, limits):
    one = problem(seed, **limits)
    start = by_date(one)
    assert one.fits(start)
    found = solve(one, start=start, tolerance=1e-6)
    assert one.fits(found.month)
    assert found.cost == pytest.approx(one.total(found.month))
    assert found.cost == pytest.approx(cheapest(one), abs=1e-6)
    assert found.bound <= found.cost
    assert found.gap == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("limits", LIMITS.values(), ids=LIMITS)
@pytest.mark.parametrize("one_by_one", [0, 300])
@pytest.mark.parametrize("seed", range(3))
def test_the_way_for_many_jobs_keeps_within_its_bound(seed, one_by_one, limits, monkeypatch):
    """On small plans too, so that it can be held against the best of all."""
    monkeypatch.setattr(plan_solver, "EXACT", 0)
    monkeypatch.setattr(plan_solver, "ONE_BY_ONE", one_by_one)
    one = problem(seed, **limits)
    start = by_date(one)
    found = solve(one, start=start, tolerance=0.1)
    best = cheapest(one)
    assert one.fits(found.month)
    assert found.bound <= best + 1e-6 <= found.cost + 2e-6
    assert found.cost <= one.total(start)


@pytest.mark.parametrize("limits", LIMITS.values(), ids=LIMITS)
@pytest.mark.parametrize("seed", range(4))
def test_no_plan_is_below_a_bound_by_prices_or_by_shares(seed, limits):
    """Whatever the prices: those found, and others."""
    one = problem(seed, **limits)
    best = cheapest(one)
    every = np.arange(one.model.size)
    for tolerance in (0.01, 10.0):
        prices = prices_of(one, tolerance=tolerance)
        assert prices.bound <= best + 1e-6
        for near in (every, every[:2], every[:0]):
            assert bound_by_shares(one, prices, near) <= best + 1e-6


def test_a_bound_by_shares_by_hand():
    """Two jobs of one model, set-up 10, months at 0 and 3, or 8 and 4: both in the second, 17."""
    one = Problem(
        cost=np.array([[0.0, 3.0], [8.0, 4.0]]),
        model=np.zeros(2, np.int64),
        hours=np.ones(1),
        spend=np.ones(1),
        capacity=np.full(1, np.inf),
        purse=np.full(1, np.inf),
        setup_cost=10.0,
    )
    prices = prices_of(one, tolerance=1.0)
    assert bound_by_shares(one, prices, np.arange(2)) == pytest.approx(17.0)
    assert cheapest(one) == pytest.approx(17.0)


@pytest.mark.parametrize("capacity", [6.0, 12.0, np.inf])
def test_many_jobs_are_never_dearer_than_by_date(capacity):
    one = problem(7, jobs=160, models=4, months=12, capacity=capacity)
    start = by_date(one)
    tolerance = 0.002 * one.spend[one.model].sum()
    found = solve(one, start=start, tolerance=tolerance)
    assert one.fits(found.month)
    assert found.bound <= found.cost <= one.total(start)
    assert found.gap < 0.02 * one.spend[one.model].sum()


def test_nothing_to_plan():
    one = problem(1)
    none = Problem(**{n: getattr(one, n) for n in Problem.__slots__}
                   | {"cost": one.cost[:0], "model": one.model[:0]})  # fmt: skip
    found = solve(none, start=np.zeros(0, np.int64), tolerance=1.0)
    assert (found.month.size, found.cost, found.gap) == (0, 0.0, 0.0)


def test_by_date_by_hand():
    """Two hours a month, jobs of one hour, half an hour to get ready: one of each model, or three
    half-hours left that nothing fits in.
    """
    one = Problem(
        cost=np.zeros((4, 3)),
        model=np.array([0, 1, 0, 0]),
        hours=np.array([1.0, 0.5]),
        spend=np.array([40.0, 30.0]),
        capacity=np.array([2.5, 2.5]),
        purse=np.full(2, np.inf),
        setup_hours=0.5,
    )
    # month 0: job 0 (0.5 + 1), job 1 (0.5 + 0.5): full. Month 1: job 2 (0.5 + 1), job 3 (1): full.
    assert plan_by_date(one, np.arange(4), np.zeros(4, int)).tolist() == [0, 0, 1, 1]
    # a job that is due after the plan stays there
    assert plan_by_date(one, np.arange(4), np.array([0, 2, 0, 0])).tolist() == [0, 2, 0, 1]


def test_hours_and_money_by_hand():
    one = problem(3, jobs=3, models=2, months=2, capacity=9.0)
    month = np.array([0, 0, 1])
    hours, money = one.used(month)
    first, second, third = one.model
    at_0 = one.hours[first] + one.hours[second] + 0.75 * (1 if first == second else 2)
    assert hours.tolist() == pytest.approx([at_0, one.hours[third] + 0.75])
    sessions = 2 if first == second else 3
    assert money.sum() == pytest.approx(one.spend[one.model].sum() + 9.0 * sessions)
    assert one.total(month) == pytest.approx(
        one.cost[0, 0] + one.cost[1, 0] + one.cost[2, 1] + 9.0 * sessions
    )


def test_lines_of_the_library_itself_stay_out_of_the_results(capfd):
    """As C writes them, buffered: they come out before stdout is given back."""
    import ctypes

    sys.stdout.write("before\n")
    with quiet_stdout():
        ctypes.CDLL(None).puts(b"a line of the library")
    sys.stdout.write("after\n")
    sys.stdout.flush()
    out, err = capfd.readouterr()
    assert out == "before\nafter\n"
    assert err == ""
