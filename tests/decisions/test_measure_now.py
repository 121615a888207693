"""Whether to measure one machine now, by plain integrals; and where two options cost the same."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import weibull_min

from fleet.decisions.ahead import Ahead, left_to_pay
from fleet.decisions.condition_first import Reading
from fleet.decisions.flips import flips
from fleet.decisions.machine import Prices
from fleet.decisions.measure_now import LongRun, measure_now
from fleet.decisions.set_life import SetLife

DAY = 365.25
LAW = weibull_min(3.0, scale=15.0)
RATE = 3.031397 * 40.0 / 15.0  # a year, published.md 5.3
NEW = SetLife(
    weight=np.ones(1), shape=np.array([3.0]), scale=np.array([15.0 * DAY]), age=np.zeros(1)
)
RUN = LongRun(planned=np.array([40.0]), failure=np.array([200.0]), rate=np.array([RATE / 12]))
PRICES = Prices(planned=40.0, failure=200.0, success=0.9, beyond_repair=0.1, used=110.0)


def own(age):
    return Ahead.of_set(NEW.used(age * DAY))


def lasts(age, years):
    return LAW.sf(age + years) / LAW.sf(age)


@pytest.mark.parametrize(("age", "month"), [(3.0, 0), (3.0, 30), (12.0, 6)])
def test_what_parts_leave_to_pay_by_numerical_integration(age, month):
    here, gone = age + month / 12, month / 12
    life_left = quad(lambda t: lasts(here, t), 0.0, 50.0 - gone)[0]
    never = left_to_pay(own(age), None, *_terms(), month=month)
    assert never == pytest.approx(200.0 - RATE * life_left, rel=1e-3)
    at = month + 24
    worked = quad(lambda t: lasts(here, t), 0.0, 2.0)[0]
    wanted = 40.0 * lasts(here, 2.0) + 200.0 * (1.0 - lasts(here, 2.0)) - RATE * worked
    assert left_to_pay(own(age), at, *_terms(), month=month) == pytest.approx(wanted, rel=1e-3)
    assert left_to_pay(own(age), month, *_terms(), month=month) == 40.0


def _terms():
    return RUN.planned, RUN.failure, RUN.rate


def test_new_parts_leave_nothing_to_pay():
    at = round(0.502610 * 15 * 12)
    assert left_to_pay(own(0.0), at, *_terms()) == pytest.approx(0.0, abs=0.02)


def decided(age, **given):
    reading = Reading(sensitivity=0.8, specificity=0.9, within=2 * DAY)
    usual = {"due_in": None, "opening": 10.0, "measuring": 3.0}
    return measure_now(own(age), RUN, reading, **usual | given)


def test_costs_of_leaving_it_by_numerical_integration():
    found = decided(12.0)
    fails = 1.0 - lasts(12.0, 2.0)
    assert found.chance == pytest.approx(fails)
    worked = quad(lambda t: lasts(12.0, t), 0.0, 2.0)[0]
    # after two years it is renewed, which leaves less to pay than waiting for its failure
    wanted = 200.0 * fails + 40.0 * (1.0 - fails) - RATE * worked
    assert found.leave == pytest.approx(wanted, rel=1e-4)
    assert found.recap == 40.0


def test_only_a_doubtful_machine_is_worth_measuring():
    doubtful = decided(8.0)  # just past the best age, 7.5 years
    assert doubtful.measure
    assert doubtful.after_good < doubtful.chance < doubtful.after_bad
    assert not decided(8.0, measuring=60.0).measure
    assert not decided(1.0, due_in=78).measure
    assert not decided(25.0).measure


def test_a_flip_is_where_two_straight_lines_cross():
    def cost(prices, option):
        return {"recap_now": prices.planned / prices.success, "used": 0.5 * prices.used}[option]

    found = {flip.what: flip for flip in flips(cost, PRICES, best="recap_now", others=("used",))}
    assert found["used"].at == pytest.approx(2 * 40.0 / 0.9, rel=1e-6)
    assert found["planned"].at == pytest.approx(0.9 * 55.0, rel=1e-6)
    assert found["success"].at == pytest.approx(40.0 / 55.0, rel=1e-5)
    assert set(found) == {"used", "planned", "success"}  # nothing else matters here
    assert flips(cost, PRICES, best="recap_now", others=()) == []
