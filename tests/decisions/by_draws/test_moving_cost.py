"""What waiting costs, against its definition, and against the best age it belongs to."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from fleet.decisions.best_age_past import best_given_alive
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import unit_law
from fleet.decisions.moving_cost import Waiting, waiting
from fleet.decisions.rates_to_come import rates_to_come

YEAR = 365.25

AS_OF = date(2026, 7, 1)


def listed(count, age, *, planned=40.0, failure=200.0):
    return pl.DataFrame(
        {
            "unit": [f"U{n}" for n in range(count)],
            "model": ["BK3"] * count,
            "parts": ["original"] * count,
            "age": np.broadcast_to(np.asarray(age, float) * YEAR, (count,)).copy(),
            "planned_cost": [planned] * count,
            "failure_cost": [failure] * count,
            "new_life": [None] * count,
        },
        schema_overrides={"new_life": pl.Float64},
    )


def test_one_known_life_by_its_definition(by_hand):
    """Weibull (3, 15 years) at age 10: F, the days lived by quadrature, and J from them."""
    from scipy.integrate import quad

    cells, draws = by_hand.frames(*by_hand.model((3.0, 15.0)))
    lives = DrawnLives.of(cells, draws)
    days = np.arange(15.0, 731.0, 30.5)
    found = waiting(
        listed(1, 10.0), by_hand.units(1, youngest=10.0), cells, lives, days, same=False
    )

    def alive(t):
        return float(np.exp((10 / 15) ** 3 - ((10 + t / YEAR) / 15) ** 3))

    for n, day in enumerate(days):
        assert found.failed[0, n] == pytest.approx(1 - alive(day), rel=1e-9)
        assert found.lived[0, n] == pytest.approx(quad(alive, 0, day)[0], rel=1e-5)
    f, lived = found.failed[0], found.lived[0]
    rate = found.rate[0]
    assert found.expected()[0] == pytest.approx(200 * f + 40 * (1 - f) - rate * lived)
    # classic: with the same life over and over the rate is C(T*) of age replacement
    assert rate == pytest.approx(
        waiting(
            listed(1, 10.0), by_hand.units(1, youngest=10.0), cells, lives, days, same=True
        ).rate[0]
    )


def test_draws_are_averaged_given_that_the_unit_has_its_age(by_hand):
    cells, draws = by_hand.frames(*by_hand.model((2.0, 8.0), (4.0, 20.0)))
    lives = DrawnLives.of(cells, draws)
    found = waiting(listed(1, 12.0), by_hand.units(1, youngest=12.0), cells, lives,
                    np.array([365.25]), same=False)  # fmt: skip
    reached = [np.exp(-((12 / 8) ** 2)), np.exp(-((12 / 20) ** 4))]
    a_year_on = [np.exp(-((13 / 8) ** 2)), np.exp(-((13 / 20) ** 4))]
    assert found.failed[0, 0] == pytest.approx(1 - sum(a_year_on) / sum(reached), rel=1e-9)


@pytest.mark.parametrize("age", [4.0, 7.0, 9.0])
def test_the_cheapest_day_is_that_of_the_best_age(by_hand, age):
    """Of many draws, to the step of the table of ages (about six in a hundred of the age)."""
    cells, draws = by_hand.frames(
        *by_hand.model(*by_hand.invented(60, shape=(2.5, 4.5), scale=(10.0, 16.0)))
    )
    lives = DrawnLives.of(cells, draws)
    own, rows = by_hand.units(1, youngest=age), listed(1, age)
    days = np.arange(0.0, 15 * YEAR, 10.0)
    found = waiting(rows, own, cells, lives, days, same=False)
    law = unit_law(lives, own)
    costs = np.array([40.0]), np.array([200.0])
    best = best_given_alive(law.shape, law.log_scale, law.weight, *costs,
                            rates_to_come(rows, cells, lives), np.array([0]),
                            np.array([age * YEAR]))  # fmt: skip
    cheapest = age * YEAR + days[found.above_best()[0].argmin()]
    assert cheapest == pytest.approx(best[0], rel=0.065)
    assert found.above_best().min() == 0.0


def test_a_date_set_by_another_rule(by_hand):
    """Later costs (200 - 40) for each failure added, earlier g for each day given away."""
    waits = Waiting(
        failed=np.array([[0.0, 0.1, 0.3]]),
        lived=np.array([[0.0, 29.0, 54.0]]),
        planned=np.array([40.0]),
        failure=np.array([200.0]),
        rate=np.array([0.02]),
    )
    assert waits.above_date(np.array([1]))[0].tolist() == pytest.approx([0.58, 0.0, 32.0])
    assert waits.above_date(np.array([0]))[0].tolist() == pytest.approx([0.0, 16.0, 48.0])


def test_an_unknown_cost_is_unknown(by_hand):
    cells, draws = by_hand.frames(*by_hand.model((3.0, 15.0)))
    lives = DrawnLives.of(cells, draws)
    rows = listed(1, 10.0).with_columns(failure_cost=pl.lit(None, pl.Float64))
    found = waiting(rows, by_hand.units(1), cells, lives, np.array([30.0]), same=False)
    assert np.isnan(found.expected()).all()


@pytest.mark.parametrize("months", [27, 123])
@pytest.mark.parametrize("age", [1.0, 12.0, 25.0])
def test_many_days_are_as_right_as_few(by_hand, age, months):
    """Lives that wear out fast and slowly; day by day there are too few for a polynomial."""
    cells, draws = by_hand.frames(*by_hand.model((6.0, 11.0), (1.2, 15.0), (3.0, 25.0)))
    lives = DrawnLives.of(cells, draws)
    days = (np.arange(months) + 0.5) * 30.4
    unit = by_hand.units(1, youngest=age)
    found = waiting(listed(1, age), unit, cells, lives, days, same=False)
    for n in range(0, months, 13):
        alone = waiting(listed(1, age), unit, cells, lives, days[n : n + 1], same=False)
        assert found.failed[0, n] == pytest.approx(alone.failed[0, 0], abs=1e-9)
