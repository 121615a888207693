"""Options of one machine against the long run, simulated years and numerical integration."""

from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad
from scipy.stats import weibull_min

from fleet.decisions.ahead import Ahead
from fleet.decisions.keep_or_replace import Machine, Prices, choices, long_run
from fleet.decisions.set_life import SetLife

DAY = 365.25
BEST, RATE = 0.502610 * 15.0, 3.031397 * 40.0 / 15.0  # published.md 5.3, shape 3, cf/cp 5
LAW = weibull_min(3.0, scale=15.0)
PLAIN = Prices(planned=40.0, failure=200.0, success=1.0, beyond_repair=0.0)
FULL = Prices(
    planned=40.0, failure=200.0, success=0.9, beyond_repair=0.2, used=70.0, used_age=14 * DAY,
    new=260.0, board=100.0, board_age=2 * DAY, scrap=4.0,
)  # fmt: skip


def life(*draws):
    shape, scale = (np.array(v, float) for v in zip(*draws, strict=True))
    share = np.full(len(draws), 1.0 / len(draws))
    return SetLife(weight=share, shape=shape, scale=scale * DAY, age=np.zeros(len(draws)))


def machine(*draws, age=14.0, best=BEST, due_in=None):
    """A machine with parts so many years old (None: it does not work)."""
    one = life(*(draws or ((3.0, 15.0),)))
    new = Ahead.of_set(one)
    own = None if age is None else Ahead.of_set(one.used(age * DAY))
    return Machine(own=own, new_parts=new, typical=one, of_new=new, due_in=due_in,
                   best_age=best * DAY)  # fmt: skip


def rows(*args, **options):
    return {row["option"]: row for row in choices(*args, **options).iter_rows(named=True)}


def conditional(law, age, years):
    return law.sf(age + years) / law.sf(age)


@pytest.mark.parametrize("years", [3, 10, 30])
def test_new_parts_cost_the_recap_and_then_the_published_long_run_rate(years):
    """What is left to pay at the end is counted, so the horizon spreads only the first cost."""
    found = rows(machine(), PLAIN, years=years)
    # months: a renewal at the whole month nearest to the best age, where the cost is flat
    assert found["recap_now"]["cost"] == pytest.approx(40.0 + RATE * years, rel=1e-3)
    # run to failure from 14 years: one failure, which comes when it comes
    left = quad(lambda t: conditional(LAW, 14.0, t), 0.0, 60.0)[0]
    assert found["recap_when_it_fails"]["cost"] == pytest.approx(
        200.0 + RATE * (years - left), rel=1e-3
    )
    assert found["recap_now"]["years_of_service"] == pytest.approx(years)


def test_chances_of_no_failure_by_the_law_itself():
    found = rows(machine(due_in=36, age=2.0), replace(PLAIN, success=0.9), years=10)
    assert found["recap_when_it_fails"]["p_no_failure"] == pytest.approx(conditional(LAW, 2, 10))
    at = round(BEST * 12)
    new = 0.9 * LAW.sf(at / 12) * 0.9 * LAW.sf((120 - at) / 12)
    assert found["recap_now"]["p_no_failure"] == pytest.approx(new)
    due = conditional(LAW, 2.0, 3.0) * 0.9 * LAW.sf(7.0)
    assert found["recap_when_due"]["p_no_failure"] == pytest.approx(due)


def test_letting_it_go_by_numerical_integration():
    found = rows(machine(), replace(PLAIN, scrap=4.0), years=10)["leave"]
    fails = 1.0 - conditional(LAW, 14.0, 10.0)
    lived = quad(lambda t: conditional(LAW, 14.0, t), 0.0, 10.0)[0]
    assert found["cost"] == pytest.approx(fails * (200.0 - 40.0 - 4.0), rel=1e-9)
    assert found["years_of_service"] == pytest.approx(lived, rel=1e-4)  # sums by months
    assert not found["keeps_service"]


def simulated(option, prices, *, years=10, runs=200_000, seed=3):
    """Mean cost and its error over `years` by playing the story, parts left worth nothing."""
    random = np.random.default_rng(seed)
    best = round(BEST * 12) / 12

    def draw(age, size):  # a life that is known to reach an age
        return LAW.isf(random.random(size) * LAW.sf(age)) - age

    age = {"recap_now": None, "recap_when_it_fails": 14.0, "used": 14.0, "new": 0.0,
           "board": 2.0, "used_recapped": None}[option]  # fmt: skip
    buy = {"used": 66.0, "used_recapped": 66.0, "new": 256.0, "board": 100.0}.get(option, 0.0)
    cost, clock = np.full(runs, buy), np.zeros(runs)
    served = np.zeros(runs)
    on = np.ones(runs, bool)
    another = prices.used is not None

    def recap(who):
        """Twice if need be; what is lost is replaced by a used one, recapped when it comes."""
        lost = np.flatnonzero(who)
        while lost.size:
            first = random.random(lost.size) < prices.success
            cost[lost] += prices.planned * np.where(first, 1.0, 2.0)
            given_up = ~first & (random.random(lost.size) >= prices.success)
            lost = lost[given_up]
            if not another:
                cost[lost] -= prices.scrap
                on[lost] = False
                return
            cost[lost] += 66.0

    until, fails = np.full(runs, best), draw(0.0, runs)
    if age is None:
        recap(on)
    else:
        fails = draw(age, runs)
        until = np.full(runs, best - age if age < best else np.inf)
    while on.any():
        ends = clock + np.minimum(until, fails)
        over = ends >= years
        served = np.where(on, np.minimum(ends, years), served)
        failed = on & ~over & (fails < until)
        renewed = on & ~over & ~failed
        on &= ~over
        cost[failed] += prices.failure - prices.planned
        beyond = failed & (random.random(runs) < prices.beyond_repair)
        if another:
            cost[beyond] += 66.0
        else:
            cost[beyond] -= prices.scrap
            on[beyond] = False
            failed &= ~beyond
        recap((failed | renewed) & on)
        clock = np.where(on, ends, clock)
        until, fails = np.full(runs, best), draw(0.0, runs)
    return cost.mean(), 4.0 * cost.std() / runs**0.5, served.mean()


@pytest.mark.parametrize(
    "option", ["recap_now", "recap_when_it_fails", "used", "used_recapped", "new", "board"]
)
def test_ten_years_by_simulated_machines(option):
    found = rows(machine(), FULL, years=10, leftover=False)[option]
    mean, error, _ = simulated(option, FULL)
    assert found["cost"] == pytest.approx(mean, abs=error + 0.003 * mean)
    assert found["years_of_service"] == pytest.approx(10.0)


def test_service_that_ends_where_nothing_can_be_bought():
    alone = replace(FULL, used=None, new=None)
    found = rows(machine(), alone, years=10, leftover=False)
    assert "used" not in found
    mean, error, served = simulated("recap_when_it_fails", alone)
    assert found["recap_when_it_fails"]["cost"] == pytest.approx(mean, abs=error + 0.003 * mean)
    assert found["recap_when_it_fails"]["years_of_service"] == pytest.approx(served, rel=2e-3)
    assert found["recap_when_it_fails"]["years_of_service"] < 10.0


def test_a_dead_machine():
    found = rows(machine(age=None), FULL, years=10)
    assert set(found) == {"recap_now", "used", "used_recapped", "new", "board", "retire"}
    alive = rows(machine(), FULL, years=10)
    # one in five is beyond repair, and a used one takes its place
    bought = alive["used_recapped"]["cost"]
    wanted = 0.8 * alive["recap_now"]["cost"] + 0.2 * bought
    assert found["recap_now"]["cost"] == pytest.approx(wanted, rel=1e-9)


def test_the_used_machine_brings_the_same_ageing_parts():
    """Common practice, no source: parts cost far less than a machine as old as the one there."""
    found = rows(machine(), FULL, years=10)
    assert found["recap_now"]["cost"] < found["used_recapped"]["cost"] < found["used"]["cost"]
    gap = found["used_recapped"]["cost"] - found["recap_now"]["cost"]
    assert gap == pytest.approx(66.0, rel=0.05)  # its price, less scrap, on top of the same recap
    assert found["retire"]["cost"] == -4.0
    assert found["retire"]["cost_per_year"] is None


def test_limits_are_those_of_the_draws():
    draws = ((3.0, 10.0), (3.0, 15.0), (3.0, 25.0))
    together = rows(machine(*draws), PLAIN, years=10)["recap_now"]
    each = [rows(machine(one), PLAIN, years=10)["recap_now"] for one in draws]
    assert together["cost_low"] == pytest.approx(min(row["cost_per_year"] for row in each))
    assert together["cost_high"] == pytest.approx(max(row["cost_per_year"] for row in each))
    assert together["p_no_failure_low"] == pytest.approx(min(r["p_no_failure"] for r in each))


HARDLY_WEARS = ((0.5, 40.0), (0.7, 60.0), (4.0, 15.0))


@pytest.mark.parametrize("used_age", [5.0, 28.0, 60.0])
def test_nothing_costs_less_than_nothing(used_age):
    """Old parts that hardly wear out outlive new ones: worth keeping, but no income."""
    prices = replace(FULL, used=60.0, used_age=used_age * DAY, scrap=None, new=None, board=None)
    for best in (BEST, np.inf):
        found = choices(machine(*HARDLY_WEARS, age=27.0, best=best), prices, years=10)
        told = found.select("cost", "cost_per_year", "cost_low").drop_nulls()
        assert told.min_horizontal().min() >= 0.0
        bought = found.filter(pl.col("option").is_in(["used", "used_recapped"]))["cost"]
        assert (bought >= 60.0).all()


def test_the_long_run_where_another_machine_always_follows_by_renewal_reward():
    """Never mended, each failure buys one as old again. Two linear equations, lives by scipy's
    quad: F = 160 + 60 + lasts 40 + (1 - lasts) F - rate lived, and 0 = R 40 + (1 - R) F - rate new.
    """
    dead = replace(PLAIN, beyond_repair=1.0, used=60.0, used_age=28.0 * DAY)
    found = long_run(machine((0.7, 15.0), best=np.inf), dead)
    law = weibull_min(0.7, scale=15.0)
    # parts still working after sixty years are renewed, at a recap's cost
    lived = quad(lambda t: conditional(law, 28.0, t), 0.0, 60.0)[0] * 12.0
    lasts = conditional(law, 28.0, 60.0)
    new = quad(law.sf, 0.0, 60.0)[0] * 12.0
    left = np.array([[lasts, lived], [1.0 - law.sf(60.0), -new]])
    wanted = np.linalg.solve(left, [160.0 + 60.0 + lasts * 40.0, -law.sf(60.0) * 40.0])
    assert found.failure[0] == pytest.approx(wanted[0], rel=2e-3)  # months, not days
    assert found.rate[0] == pytest.approx(wanted[1], rel=2e-3)
    assert found.rate[0] > 0.0
