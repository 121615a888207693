"""Chances of units against averages over the draws by a plain loop."""

import math

import numpy as np
import pytest
from scipy.stats import norm

from fleet.decisions import chance_failed_unseen, chance_within
from fleet.decisions import forecast as module
from fleet.decisions.forecast import forecast, unit_law

LEVEL = 0.9
DRAWS = ((1.1, 20.0), (2.0, 14.0), (3.0, 16.0), (4.5, 12.0), (2.5, 30.0))
WEIGHT = [0.1, 0.3, 0.2, 0.15, 0.25]


def _chance(shape, scale, start, end):
    return 1.0 - math.exp((start / scale) ** shape - (end / scale) ** shape)


def _quantile(values, weight, share):
    """Smallest value with at least a share of the weight at or below it."""
    reached = 0.0
    for value, own in sorted(zip(values, weight, strict=True)):
        reached += own
        if reached >= share - 1e-12:
            return value
    return max(values)


def _forecast(by_hand, lives, units, horizon=2.0):
    return forecast(lives, units, horizon=horizon * by_hand.year, level=LEVEL)


def test_an_exact_age_by_a_plain_loop(by_hand):
    lives = by_hand.lives(*by_hand.model(*DRAWS), weight=WEIGHT)
    found = _forecast(by_hand, lives, by_hand.units(youngest=11.0, silent=1.5))
    each = [_chance(k, s, 11.0, 13.0) for k, s in DRAWS]
    mean = sum(w * p for w, p in zip(WEIGHT, each, strict=True))
    assert found.p_fail == pytest.approx([mean], rel=1e-12)
    assert found.low == pytest.approx([_quantile(each, WEIGHT, 0.05)], rel=1e-12)
    assert found.high == pytest.approx([_quantile(each, WEIGHT, 0.95)], rel=1e-12)
    failed = sum(w * _chance(k, s, 9.5, 11.0) for w, (k, s) in zip(WEIGHT, DRAWS, strict=True))
    assert found.unseen == pytest.approx([0.5 * failed / (0.5 * failed + 1.0 - failed)])


def test_all_draws_equal_is_the_plain_chance(by_hand):
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0)] * 40))
    ages, silent = np.array([0.0, 3.0, 12.0, 30.0]), np.array([0.0, 1.0, 2.0, 8.0])
    units = by_hand.units(4, youngest=ages, silent=silent, prompt_share=0.7)
    found = _forecast(by_hand, lives, units)
    wanted = chance_within(3.0, 15.0, ages, 2.0)
    for values in (found.p_fail, found.low, found.high):
        assert values == pytest.approx(wanted, rel=1e-9)
    unseen = chance_failed_unseen(3.0, 15.0, ages - silent, ages, 0.7)
    assert found.unseen == pytest.approx(unseen, rel=1e-9)


def test_told_heat_and_use_shorten_each_draw_by_its_own_strength(by_hand):
    draws = ((3.0, 15.0, 0.5, 1.0), (3.0, 15.0, 1.0, 0.5), (2.0, 18.0, 1.5, 0.2))
    facts = {"mean_c": 27.0, "sd_c": 5.0, "mean_log_hours": 7.5, "sd_log_hours": 0.6}
    lives = by_hand.lives(*by_hand.model(*draws, **facts))
    found = _forecast(by_hand, lives, by_hand.units(ambient_c=35.0, hours=4000.0))
    # usual are 25 degrees and 2000 hours: ten kelvin and twice the hours above
    each = [
        _chance(k, s * 2.0**-heat / (c + (1.0 - c) * 2.0), 10.0, 12.0) for k, s, heat, c in draws
    ]
    assert found.p_fail == pytest.approx([np.mean(each)], rel=1e-12)


def test_heat_of_a_model_that_tells_none_changes_nothing(by_hand):
    lives = by_hand.lives(*by_hand.model((3.0, 15.0, 1.0, 0.3)))
    hot = _forecast(by_hand, lives, by_hand.units(ambient_c=60.0, hours=8000.0))
    assert hot.p_fail == pytest.approx(chance_within(3.0, 15.0, 10.0, 2.0))


def test_a_build_date_in_a_range_is_averaged_evenly(by_hand):
    count = 50
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0)] * count))
    found = _forecast(by_hand, lives, by_hand.units(youngest=8.0, oldest=12.0))
    ages = 8.0 + 4.0 * (np.arange(count) + 0.5) / count
    each = chance_within(3.0, 15.0, ages, 2.0)
    assert found.p_fail == pytest.approx([each.mean()], rel=1e-12)
    assert found.low == pytest.approx([np.sort(each)[2]])  # the third of fifty reaches 5 %
    assert found.high == pytest.approx([np.sort(each)[47]])


def test_build_dates_and_draws_meet_in_all_combinations(by_hand):
    draws = by_hand.invented(400)
    lives = by_hand.lives(*by_hand.model(*draws))
    found = _forecast(by_hand, lives, by_hand.units(30, youngest=6.0, oldest=14.0))
    assert len(set(found.p_fail)) == 1  # like units get like answers
    ages = np.linspace(6.0, 14.0, 201)
    shape, scale = np.array(draws).T[:, :, None]
    wanted = chance_within(shape, scale, ages, 2.0).mean()
    # each unit meets 400 of the pairs
    assert found.p_fail[0] == pytest.approx(wanted, rel=0.05)


BLANK = {"mean_c": 27.0, "sd_c": 6.0}


def test_a_blank_temperature_by_a_plain_loop(by_hand):
    count = 60
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0, 1.0, 1.0)] * count, **BLANK))
    found = _forecast(by_hand, lives, by_hand.units(youngest=14.0, silent=2.0))
    warm = 27.0 + 6.0 * norm.ppf((np.arange(count) + 0.5) / count)
    scale = 15.0 * 2.0 ** (-(warm - 25.0) / 10.0)
    weight = np.exp(-((12.0 / scale) ** 3.0))  # it was seen working at twelve
    weight /= weight.sum()
    each = chance_within(3.0, scale, 14.0, 2.0)
    assert found.p_fail == pytest.approx([(weight * each).sum()], rel=1e-10)
    assert found.low == pytest.approx([_quantile(each, weight, 0.05)])
    assert found.high == pytest.approx([_quantile(each, weight, 0.95)])
    failed = (weight * chance_within(3.0, scale, 12.0, 2.0)).sum()
    assert found.unseen == pytest.approx([0.5 * failed / (1.0 - 0.5 * failed)])


def test_an_old_survivor_of_unknown_heat_is_likely_a_cool_one(by_hand):
    lives = by_hand.lives(*by_hand.model(*[(3.5, 14.0, 1.0, 1.0)] * 200, **BLANK))
    ages = np.array([1.0, 25.0])
    law = unit_law(lives, by_hand.units(2, youngest=ages))
    warmth = -(law.weight * law.log_scale).sum(axis=1)
    fresh = -law.log_scale.mean(axis=1)
    assert warmth[0] == pytest.approx(fresh[0], abs=1e-3)  # nothing learned at one year
    assert warmth[1] < fresh[1] - 0.2
    blank = _forecast(by_hand, lives, by_hand.units(2, youngest=ages)).p_fail
    middle = _forecast(by_hand, lives, by_hand.units(2, youngest=ages, ambient_c=27.0)).p_fail
    assert blank[0] > middle[0]  # hot sites fail first, and any set may be at one
    assert blank[1] < middle[1]


def test_blank_hours_take_the_law_of_their_logs(by_hand):
    count, facts = 80, {"mean_log_hours": math.log(2500.0), "sd_log_hours": 0.7}
    lives = by_hand.lives(*by_hand.model(*[(3.0, 15.0, 0.0, 0.4)] * count, **facts))
    law = unit_law(lives, by_hand.units(youngest=0.0))
    hours = 2500.0 * np.exp(0.7 * norm.ppf((np.arange(count) + 0.5) / count))
    wanted = -np.log(0.4 + 0.6 * hours / 2000.0) + math.log(15.0 * by_hand.year)
    assert np.sort(law.log_scale[0]) == pytest.approx(np.sort(wanted))


def test_a_unit_of_a_batch_nobody_knows_has_outlived_the_bad_ones(by_hand):
    draws = ((4.0, 6.0), (4.0, 20.0))
    lives = by_hand.lives(*by_hand.model(*draws))
    age = 9.0
    known, unknown = (
        _forecast(by_hand, lives, by_hand.units(youngest=age, own_unknown=mine)).p_fail[0]
        for mine in (False, True)
    )
    each = [_chance(k, s, 9.0, 11.0) for k, s in draws]
    lived = [math.exp(-((age / s) ** k)) for k, s in draws]
    assert known == pytest.approx(np.mean(each))
    assert unknown == pytest.approx(np.average(each, weights=lived))
    assert unknown < known


def test_a_partly_renewed_set_is_half_old_and_half_new(by_hand):
    cells = [
        by_hand.cell((3.0, 12.0), (2.0, 16.0), batch="K1"),
        by_hand.cell((2.5, 20.0), (4.0, 18.0), parts="replaced"),
    ]
    lives = by_hand.lives(*cells)
    units = by_hand.units(cell=1, youngest=2.0, silent=1.0, old_cell=0, old_age=11.0)
    found = _forecast(by_hand, lives, units)
    each, failed = [], []
    for (k, s), (old_k, old_s) in zip(cells[1][1], cells[0][1], strict=True):

        def added(start, end, k=k, s=s, old_k=old_k, old_s=old_s):
            new = (end / s) ** k - (start / s) ** k
            old = ((end + 9.0) / old_s) ** old_k - ((start + 9.0) / old_s) ** old_k
            return 0.5 * new + 0.5 * old

        each.append(1.0 - math.exp(-added(2.0, 4.0)))
        failed.append(1.0 - math.exp(-added(1.0, 2.0)))
    assert found.p_fail == pytest.approx([np.mean(each)], rel=1e-12)
    assert found.low == pytest.approx([min(each)])
    assert found.high == pytest.approx([max(each)])
    q = np.mean(failed)
    assert found.unseen == pytest.approx([0.5 * q / (1.0 - 0.5 * q)])


def test_whole_sets_beside_partly_renewed_ones_are_left_as_they_are(by_hand):
    lives = by_hand.lives(*by_hand.model(*DRAWS))
    alone = _forecast(by_hand, lives, by_hand.units(youngest=9.0))
    both = _forecast(
        by_hand, lives,
        by_hand.units(2, youngest=9.0, old_cell=np.array([-1, 0]), old_age=np.array([np.nan, 14])),
    )  # fmt: skip
    assert both.p_fail[0] == pytest.approx(alone.p_fail[0], rel=1e-12)
    assert both.p_fail[1] > both.p_fail[0]


@pytest.mark.parametrize(
    ("silent", "prompt", "wanted"),
    [(0.0, 0.5, 0.0), (4.0, 1.0, 0.0), (1e6, 0.0, None)],
)
def test_failed_unseen_at_its_ends(by_hand, silent, prompt, wanted):
    lives = by_hand.lives(*by_hand.model(*DRAWS))
    units = by_hand.units(youngest=12.0, silent=silent, prompt_share=prompt)
    found = _forecast(by_hand, lives, units).unseen[0]
    # never seen since new and no failure told: all that failed by twelve, unseen
    never = np.mean([_chance(k, s, 0.0, 12.0) for k, s in DRAWS])
    assert found == pytest.approx(never if wanted is None else wanted)


def test_units_of_exact_age_are_judged_alone_or_among_many_alike(by_hand, monkeypatch):
    lives = by_hand.lives(*by_hand.model(*by_hand.invented(50)))
    ages = np.linspace(0.0, 30.0, 23)
    silent = np.minimum(ages, 1.0)
    alone = [
        _forecast(by_hand, lives, by_hand.units(youngest=age, silent=quiet))
        for age, quiet in zip(ages, silent, strict=True)
    ]
    for at_once in (4096, 5):
        monkeypatch.setattr(module, "_AT_ONCE", at_once)
        whole = _forecast(by_hand, lives, by_hand.units(23, youngest=ages, silent=silent))
        for name in ("p_fail", "low", "high", "unseen"):
            wanted = [getattr(one, name)[0] for one in alone]
            assert getattr(whole, name) == pytest.approx(wanted, rel=1e-12)


def test_the_same_every_time(by_hand):
    lives = by_hand.lives(*by_hand.model(*by_hand.invented(50), **BLANK))
    units = by_hand.units(40, youngest=5.0, oldest=8.0)
    one, other = (_forecast(by_hand, lives, units) for _ in range(2))
    assert np.array_equal(one.p_fail, other.p_fail)
    assert np.array_equal(one.high, other.high)


def test_what_must_hold_of_any_unit(by_hand):
    rng = np.random.default_rng(5)
    lives = by_hand.lives(*by_hand.model(*by_hand.invented(80), **BLANK))
    youngest = rng.uniform(0.0, 30.0, 300)
    units = by_hand.units(
        300,
        youngest=youngest,
        oldest=youngest + rng.uniform(0.0, 5.0, 300),
        silent=rng.uniform(0.0, 6.0, 300),
        ambient_c=np.where(rng.random(300) < 0.5, np.nan, rng.uniform(10.0, 45.0, 300)),
        own_unknown=rng.random(300) < 0.5,
        prompt_share=rng.random(300),
    )
    short, long = (_forecast(by_hand, lives, units, horizon=h) for h in (1.0, 4.0))
    for found in (short, long):
        law = unit_law(lives, units)
        assert law.weight.sum(axis=1) == pytest.approx(np.ones(300))
        assert np.all((found.p_fail > 0.0) & (found.p_fail < 1.0))
        assert np.all((found.low > 0.0) & (found.low <= found.high) & (found.high <= 1.0))
        assert np.all((found.low <= found.p_fail) & (found.p_fail <= found.high))
        assert np.all((found.unseen >= 0.0) & (found.unseen < 1.0))
    assert np.all(short.p_fail < long.p_fail)
    assert np.all(short.unseen == long.unseen)


def test_no_units(by_hand):
    lives = by_hand.lives(*by_hand.model(*DRAWS))
    assert _forecast(by_hand, lives, by_hand.units(0)).p_fail.size == 0
