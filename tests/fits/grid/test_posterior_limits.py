"""The posterior at its ends: nothing known, very much known, causes, heat and batches."""

import math
from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from fleet.fits import fit_weibull, weibull_posterior
from fleet.frames import LIFE


def _posterior(small, lives, *, year=1.0, draws=100, prior=None):
    return weibull_posterior(lives, year=year, prior=prior or small.prior, draws=draws)


def _named(small, lives, **options):
    return _posterior(small, lives, **options).named()


def _of(frame, model="BK3", parts="original", batch="K1"):
    mine = (pl.col("model") == model) & (pl.col("parts") == parts)
    return frame.filter(mine & pl.col("batch").eq_missing(pl.lit(batch, pl.String)))


def test_one_life_still_good_leaves_nearly_the_prior(small):
    found = _of(_named(small, small.lives({"low": 1.0}), draws=400))
    logs = found["centre"].log()
    assert logs.mean() == pytest.approx(math.log(15.0), abs=0.03)
    assert logs.std() == pytest.approx(0.5, rel=0.06)
    # two laws of the log shape, weighed 0.15 and 0.85
    mean = 0.15 * math.log(1.1) + 0.85 * math.log(3.5)
    assert found["shape"].log().mean() == pytest.approx(mean, abs=0.04)


def test_no_failure_at_all_pushes_lives_up_and_no_further(small):
    few = _of(_named(small, small.lives({"low": 8.0, "count": 5.0}), draws=400))
    many = _of(_named(small, small.lives({"low": 20.0, "count": 200.0}), draws=400))
    assert few["scale"].median() < many["scale"].median()
    # 200 of 200 outlasted twenty years: more than one in twenty failing by then is out
    by_twenty = -np.expm1(-((20.0 / many["scale"]) ** many["shape"]).to_numpy())
    assert np.quantile(by_twenty, 0.95) < 0.05
    assert many["scale"].is_finite().all()


def test_five_thousand_failures_concentrate_around_the_likelihood(small):
    lives = small.invented(12_000, shape=3.0, scale=12.0, seed=11)
    assert lives["high"].is_not_null().sum() > 5000
    fit = fit_weibull(lives.select(LIFE.names()))
    named = _of(_named(small, lives, draws=1000))
    for what in ("shape", "scale"):
        estimate, low, high = fit.select(what, f"{what}_low", f"{what}_high").row(0)
        sd = (high - low) / (2.0 * 1.959964)
        found = named[what]
        assert found.mean() == pytest.approx(estimate, abs=0.1 * sd)
        assert found.std() == pytest.approx(sd, rel=0.1)


def test_the_prior_is_heard_less_the_more_is_known(small):
    wide = replace(small.prior, scale_years=(30.0, 0.5))

    def moved(count):
        lives = small.invented(count, shape=3.0, scale=12.0, seed=5)
        ours, other = (
            _of(_named(small, lives, prior=p, draws=400))["scale"].mean()
            for p in (small.prior, wide)
        )
        return other / ours - 1.0

    steps = [moved(count) for count in (4, 40, 400)]
    assert steps[0] > 0.2 > steps[1] > steps[2]
    assert abs(steps[2]) < 0.005


def test_more_weight_on_no_wear_out_lowers_shapes(small):
    lives = small.invented(12, shape=2.0, scale=14.0, seed=6, failures=5)
    shapes = [
        _of(_named(small, lives, prior=small.prior.with_share(share)))["shape"].mean()
        for share in (0.0, 0.3, 0.7, 1.0)
    ]
    assert shapes == sorted(shapes, reverse=True)


def test_parts_fitted_later_have_a_scale_of_their_own(small):
    first = small.invented(60, shape=3.5, scale=16.0, seed=7)
    later = small.invented(60, shape=3.5, scale=8.0, seed=8, parts="replaced", batch="K7")
    frame = _named(small, pl.concat([first, later]))
    assert _of(frame)["scale"].mean() == pytest.approx(16.0, rel=0.1)
    assert _of(frame, parts="replaced", batch="K7")["scale"].mean() == pytest.approx(8.0, rel=0.1)
    new, again = (_of(frame, parts=p, batch=None)["scale"].log() for p in ("original", "replaced"))
    assert again.std() > new.std()


def test_a_new_batch_inherits_the_spread_of_its_model(small):
    def spread_of_new(scales):
        rows = [
            small.invented(80, shape=3.5, scale=s, seed=n, batch=f"K{n}")
            for n, s in enumerate(scales)
        ]
        frame = _of(_named(small, pl.concat(rows), draws=400), batch=None)
        return frame["spread"].mean(), frame["scale"].log().std()

    alike, unlike = spread_of_new([15.0] * 5), spread_of_new([8.0, 11.0, 15.0, 21.0, 28.0])
    assert alike[0] < 0.2 < 0.35 < unlike[0]
    assert alike[1] < unlike[1]
    assert unlike[1] == pytest.approx(unlike[0], rel=0.35)


def test_a_failure_of_unknown_cause_lies_between_both_causes(small):
    before = small.invented(15, shape=3.0, scale=14.0, seed=12)

    def scale(row):
        lives = pl.concat([before, small.lives(row)])
        return _of(_named(small, lives, draws=400))["scale"].mean()

    failed, watched = scale({"low": 7.0, "high": 7.0}), scale({"low": 7.0})
    both = [
        scale({"low": 7.0, "high": 7.0, "other_low": 7.0, "other_chance": chance})
        for chance in (1e-9, 0.02, 1e3)
    ]
    assert both[0] == pytest.approx(failed, rel=1e-6)
    assert failed < both[1] < watched
    assert both[2] == pytest.approx(watched, rel=1e-3)


def test_heat_that_matters_is_found_and_heat_that_does_not_is_not(small):
    rng = np.random.default_rng(13)
    warm = rng.uniform(15.0, 40.0, 150)

    def strength(effect):
        factor = 2.0 ** (-effect * (warm - 27.5) / 10.0)
        age, end = 14.0 * factor * rng.weibull(3.5, 150), rng.uniform(5.0, 25.0, 150)
        rows = [
            {"low": min(a, e), "high": a if a <= e else None, "ambient_c": t}
            for a, e, t in zip(age, end, warm, strict=True)
        ]
        return _of(_named(small, small.lives(*rows)))["heat"]

    found = strength(1.0)
    assert (found > 0).all()
    assert found.mean() == pytest.approx(1.0, abs=3.0 * found.std())
    assert found.std() < 0.15
    assert strength(0.0).mean() < 0.15


@pytest.mark.parametrize("share", [0.05, 0.4])
def test_another_share_of_no_wear_out_without_fitting_again(small, share):
    lives = small.invented(12, shape=2.0, scale=14.0, seed=6, failures=5)
    found = _posterior(small, lives, draws=2000)
    weighed = found.with_share(share)
    again = _posterior(small, lives, draws=2000, prior=small.prior.with_share(share))
    assert weighed.prior == again.prior
    for what in ("shape", "scale"):
        ours, refitted = (
            _of(f.named()).select(pl.col(what).log(), "weight") for f in (weighed, again)
        )
        assert ours["weight"].sum() == pytest.approx(1.0)
        mean = (ours[what] * ours["weight"]).sum()
        assert mean == pytest.approx(refitted[what].mean(), abs=0.1 * refitted[what].std())
        before = _of(found.named())[what].log()
        moved = abs(refitted[what].mean() - before.mean())
        assert what == "scale" or moved > 0.05 * before.std()
