"""Factors on lives from heat and use, by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from fleet.fits.grid import site_law as law_of
from fleet.fits.grid.stress import NODE_WEIGHTS, NODES, Site, log_heat_factor, log_use_factor

NAN = float("nan")


def _site(warm, hours, count=None):
    many = np.ones(len(warm)) if count is None else np.array(count, float)
    return Site.of(np.array(warm, float), np.array(hours, float), many)


def test_ten_kelvin_more_halve_a_life_where_the_strength_is_one():
    # the ten-kelvin rule: common practice
    assert np.exp(log_heat_factor(np.array([35.0, 25.0, 5.0]), 1.0, 25.0)) == pytest.approx(
        [0.5, 1.0, 4.0]
    )
    assert np.exp(log_heat_factor(np.array([35.0]), 2.0, 25.0)) == pytest.approx([0.25])
    assert not log_heat_factor(np.array([10.0, 80.0]), 0.0, 25.0).any()


def test_use_ages_for_what_does_not_go_by_the_calendar():
    hours = np.log([1000.0, 2000.0, 6000.0])
    # a quarter by the calendar: 1 / (1/4 + 3/4 h/h0)
    assert np.exp(log_use_factor(hours, 0.25, 2000.0)) == pytest.approx([1.6, 1.0, 0.4])
    assert not log_use_factor(hours, 1.0, 2000.0).any()


def test_scales_are_given_for_the_middle_of_what_was_told():
    site = _site([20.0, NAN, 30.0, 26.0], [NAN, 500.0, 2000.0, NAN])
    assert site.usual_c == 26.0
    assert site.usual_hours == pytest.approx(1000.0)  # middle of the logs
    assert (site.tells_heat, site.tells_use) == (True, True)
    assert site.law.mean_c == pytest.approx(76.0 / 3.0)
    assert site.law.sd_use == pytest.approx(np.log(2.0))


def test_sets_told_together_count_as_many():
    warm, hours, many = [20.0, 26.0, 34.0, NAN], [500.0, NAN, 2000.0, 900.0], [2, 1, 5, 4]
    together = _site(warm, hours, many)
    apart = _site(np.repeat(warm, many), np.repeat(hours, many))
    for name in ("tells_heat", "tells_use", "usual_c", "usual_hours"):
        assert getattr(together, name) == pytest.approx(getattr(apart, name))
    for name in ("mean_c", "sd_c", "mean_use", "sd_use"):
        assert getattr(together.law, name) == pytest.approx(getattr(apart.law, name))
    assert together.usual_c == np.median(np.repeat(warm[:3], many[:3]))


def test_where_nothing_was_told_nothing_is_blank_and_no_life_is_changed():
    site = _site([NAN] * 3, [NAN] * 3)
    assert not site.blank.any()
    assert not site.log_factors(1.3, 0.4).any()
    assert (site.tells_heat, site.tells_use) == (False, False)


def test_one_temperature_alone_tells_nothing_of_heat():
    site = _site([30.0, NAN], [NAN, NAN])
    assert not site.tells_heat
    assert not site.blank.any()
    assert not site.log_factors(1.3, 0.4).any()


def test_no_powered_hours_at_all_are_hours_not_told():
    # a set that is never switched on has no log of hours; it is taken as blank
    assert _site([20.0, 30.0, 40.0], [0.0, 500.0, 900.0]).blank.tolist() == [True, False, False]


def test_told_values_are_used_as_they_are():
    site = _site([20.0, 30.0, 40.0], [NAN] * 3)
    found = site.log_factors(1.0, 0.5)
    assert np.exp(found) == pytest.approx(np.repeat([[2.0], [1.0], [0.5]], NODES.size, axis=1))


def test_a_blank_takes_the_nodes_of_the_law_of_what_was_told():
    site = _site([20.0, 30.0, 40.0, NAN], [NAN] * 4)
    assert site.blank.tolist() == [False] * 3 + [True]
    told = np.array([20.0, 30.0, 40.0])
    wanted = log_heat_factor(told.mean() + told.std() * NODES, 1.0, 30.0)
    assert site.log_factors(1.0, 0.5)[3] == pytest.approx(wanted)


def test_one_blank_of_two_keeps_what_was_told_of_the_other():
    site = _site([20.0, 30.0, 40.0, 40.0], [1000.0, 1000.0, 1000.0, NAN])
    # all told hours are alike, so the blank changes nothing; 40 is 5 above the middle of 35
    assert np.exp(site.log_factors(1.0, 0.5)[3]) == pytest.approx([2.0**-0.5] * NODES.size)


def test_two_blanks_have_the_moments_of_the_sum():
    rng = np.random.default_rng(3)
    warm, hours = rng.uniform(15, 40, 31), np.exp(rng.uniform(6, 9, 31))
    site = _site([*warm, NAN], [*hours, NAN])
    found = site.log_factors(0.9, 0.4)[-1]
    heat = log_heat_factor(rng.normal(site.law.mean_c, site.law.sd_c, 400_000), 0.9, site.usual_c)
    use = log_use_factor(
        rng.normal(site.law.mean_use, site.law.sd_use, 400_000), 0.4, site.usual_hours
    )
    # drawn 400,000 times: the mean is known to 0.002, the sd to 0.0015
    mean = NODE_WEIGHTS @ found
    assert mean == pytest.approx((heat + use).mean(), abs=0.006)
    sd = np.sqrt(NODE_WEIGHTS @ (found - mean) ** 2)
    assert sd == pytest.approx((heat + use).std(), abs=0.01)


def test_a_part_of_the_sets_keeps_the_law_of_all():
    site = _site([20.0, 30.0, 40.0, NAN], [900.0, NAN, 800.0, NAN])
    part = site.take(np.array([False, True, False, True]))
    assert part.ambient_c.tolist()[0] == 30.0
    assert part.law == site.law
    assert part.log_factors(1.0, 0.3) == pytest.approx(site.log_factors(1.0, 0.3)[[1, 3]])


@pytest.mark.parametrize("told", ["heat", "use", "both"])
def test_the_law_of_what_may_be_blank_is_the_highest_point(monkeypatch, small, told):
    rng = np.random.default_rng(3)
    rows = [
        {"low": float(low), "high": float(low) if i % 2 else None}
        | {"entry": float(entry) if i % 3 else 0.0}
        | {"known_by": float(low) + 4.0 if i % 4 == 1 else None}
        | {"ambient_c": None if told == "use" else float(heat)}
        | {"hours_per_year": None if told == "heat" else float(use)}
        for i, (entry, low, heat, use) in enumerate(
            zip(rng.uniform(1, 8, 80), rng.uniform(8, 20, 80), rng.normal(25, 5, 80),
                np.exp(rng.normal(7.5, 0.6, 80)), strict=True)
        )
    ]  # fmt: skip
    asked = {}

    def keep(worse, start, **_):
        asked["worse"] = worse
        return SimpleNamespace(x=start)

    monkeypatch.setattr("scipy.optimize.minimize", keep)
    pilot = law_of.Pilot(shape=3.0, log_scale=np.log(15.0), strength=0.9, calendar=0.4)
    law_of.site_law(small.evidence(*rows), pilot)
    x, step = np.array([0.3, -0.2, 0.4, 0.1]), 1e-6 * np.eye(4)
    slopes = [(asked["worse"](x + s)[0] - asked["worse"](x - s)[0]) / 2e-6 for s in step]
    assert asked["worse"](x)[1] == pytest.approx(slopes, rel=1e-6, abs=1e-6)
