"""A life given for the parts that go in: its rate by hand and by numerical integration."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from fleet.decisions import age_replacement_weibull, due_by_draws, one_time_weibull
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.rates_to_come import rates_to_come
from fleet.errors import BadFrame, BadInput

PLANNED, FAILURE = 40.0, 200.0  # of the fixture `make`
SHARES = pl.DataFrame({"model": ["BK3"], "prompt_share": [0.6]})


@pytest.fixture
def due(make, by_hand):
    """The first row of the due list of one young unit, what goes in as told."""

    def ask(cells, **options):
        table, draws = by_hand.frames(*cells)
        working = make.working({"started": date(2025, 7, 1)})
        frame = due_by_draws(working, table, draws, make.costs, SHARES, as_of=make.as_of, **options)
        return frame.row(0, named=True)

    return ask


def _lives(make, days, units=("U1",)):
    return pl.DataFrame({"unit": make.working()["unit"].to_list()[: len(units)], "new_life": days})


def _rates(by_hand, cells, new_life):
    table, draws = by_hand.frames(*cells)
    units = pl.DataFrame(
        {
            "model": ["BK3"],
            "parts": ["original"],
            "planned_cost": [PLANNED],
            "failure_cost": [FAILURE],
            "new_life": [new_life],
        },
        schema_overrides={"new_life": pl.Float64},
    )
    return float(rates_to_come(units, table, DrawnLives.of(table, draws))[0])


def _rate_by_integration(shapes, scale):
    """Lowest long-run cost a day averaged over shapes, by quadrature and a search."""

    def survival(shape):
        return lambda t: np.exp(-((t / scale) ** shape))

    def cost(age):
        each = []
        for shape in shapes:
            alive = survival(shape)(age)
            lived, _ = quad(survival(shape), 0.0, age, epsabs=0.0, epsrel=1e-10)
            each.append((PLANNED * alive + FAILURE * (1.0 - alive)) / lived)
        return float(np.mean(each))

    found = minimize_scalar(cost, bounds=(0.05 * scale, 3.0 * scale), method="bounded")
    return float(found.fun)


def test_rate_of_one_shape_is_the_classic_one(by_hand):
    scale = 18.0 * by_hand.year
    got = _rates(by_hand, by_hand.model(*[(3.0, 9.0)] * 10), scale)
    classic = float(age_replacement_weibull(3.0, scale, PLANNED, FAILURE).rate)
    assert got == pytest.approx(classic, rel=1e-3)  # the least on a grid of ages, 6 % apart


def test_rate_without_wear_out_is_failures_by_hand(by_hand):
    # shape 1: replacing gains nothing, a failure each 18 years on average
    got = _rates(by_hand, by_hand.model(*[(1.0, 9.0)] * 10), 18.0 * by_hand.year)
    assert got == pytest.approx(FAILURE / (18.0 * by_hand.year), rel=1e-3)


def test_rate_averages_over_the_shapes_that_are_drawn(by_hand):
    shapes, scale = (2.0, 2.5, 4.0, 5.0), 15.0 * by_hand.year
    cells = by_hand.model(*[(shape, 30.0) for shape in shapes])
    expected = _rate_by_integration(shapes, scale)
    assert _rates(by_hand, cells, scale) == pytest.approx(expected, rel=1e-3)


def test_without_a_life_the_rate_is_that_of_a_typical_batch(by_hand):
    cells = by_hand.model(*[(3.0, 9.0)] * 10)
    assert _rates(by_hand, cells, None) == pytest.approx(
        _rates(by_hand, cells, 9.0 * by_hand.year), rel=1e-9
    )


def test_due_age_solves_the_one_time_condition(due, make, by_hand):
    # (cf - cp) h(T) = g with g of the life given: METHODS one-time-replacement
    scale = 15.0 * by_hand.year
    rate = float(age_replacement_weibull(4.0, scale, PLANNED, FAILURE).rate)
    wait = float(one_time_weibull(4.0, 9.0 * by_hand.year, PLANNED, FAILURE, rate).wait)
    row = due(by_hand.model(*[(4.0, 9.0)] * 10), new_lives=_lives(make, [scale]))
    assert row["optimal_age"] == pytest.approx(wait, rel=0.01)


def test_parts_that_last_longer_are_fitted_sooner(due, make, by_hand):
    cells = by_hand.model(*[(4.0, 9.0)] * 10)
    short, same, long = (
        due(cells, new_lives=_lives(make, [years * by_hand.year]))["optimal_age"]
        for years in (6.0, 9.0, 15.0)
    )
    assert long < same < short
    assert same == pytest.approx(due(cells)["optimal_age"], rel=1e-6)  # typical lives so long


def test_a_life_given_comes_before_new_parts_and_leaves_chances_alone(due, make, by_hand):
    cells = by_hand.model(*[(4.0, 9.0)] * 10)
    lives = _lives(make, [15.0 * by_hand.year])
    both = [due(cells, new_lives=lives, new_parts=name) for name in ("typical", "same")]
    assert both[0]["optimal_age"] == both[1]["optimal_age"]
    assert both[0]["p_fail"] == due(cells)["p_fail"]


def test_each_unit_has_the_life_given_to_it(make, by_hand):
    table, draws = by_hand.frames(*by_hand.model(*[(4.0, 9.0)] * 10))
    started = {"started": date(2025, 7, 1)}
    working = make.working(started, started, started)
    one, two, three = working["unit"]
    lives = pl.DataFrame(
        {"unit": [one, two, three], "new_life": [6.0 * by_hand.year, 15.0 * by_hand.year, None]}
    )
    frame = due_by_draws(
        working, table, draws, make.costs, SHARES, as_of=make.as_of, new_lives=lives
    )
    ages = dict(frame.select("unit", "optimal_age").iter_rows())
    assert ages[two] < ages[three] < ages[one]


def test_lives_that_cannot_be_are_refused(due, make, by_hand):
    cells = by_hand.model(*[(4.0, 9.0)] * 10)
    for wrong in (0.0, -1.0, np.nan, np.inf):
        with pytest.raises(BadInput, match="above zero"):
            due(cells, new_lives=_lives(make, [wrong]))
    with pytest.raises(BadFrame, match="new_life"):
        due(cells, new_lives=pl.DataFrame({"unit": ["U1"]}))
    with pytest.raises(BadFrame, match="twice"):
        due(cells, new_lives=pl.DataFrame({"unit": ["U1", "U1"], "new_life": [1.0, 1.0]}))
