"""How often 95 % profile limits hold the truth, in simulated fleets of about 20 and 50 failures."""

import numpy as np
import polars as pl
import pytest

from fleet.fits import fit_weibull
from fleet.fits.chances import weibull_chances
from fleet.frames import LIFE

FLEETS = 4_000
SHAPE, SCALE = 3.0, 12.0
SPAN = (8.0, 10.0)


def simulated(units, seed):
    """Half enter late (a tenth of them in intervals); about half fail before the watch ends."""
    rng = np.random.default_rng(seed)
    n = FLEETS * units
    entry = np.where(rng.random(n) < 0.5, 0.0, rng.uniform(0.0, 8.0, n))
    life = SCALE * ((entry / SCALE) ** SHAPE + rng.exponential(size=n)) ** (1.0 / SHAPE)
    end = np.maximum(entry, 0.0) + rng.uniform(4.0, 12.0, n)
    failed, look = life <= end, rng.random(n) < 0.1
    # a look every year from the entry on: the failure lies between two looks
    before = entry + np.floor(life - entry)
    low = np.where(failed, np.where(look, before, life), end)
    high = np.where(failed, np.where(look, before + 1.0, life), np.nan)
    return pl.DataFrame(
        {"entry": entry, "low": low, "high": high, "known_by": None, "count": 1.0},
        schema=LIFE,
    ).with_columns(
        pl.col("high").fill_nan(None), fleet=pl.Series(np.repeat(np.arange(FLEETS), units))
    )


@pytest.mark.slow
@pytest.mark.parametrize(("units", "failures"), [(45, 20), (112, 50)])
def test_limits_hold_as_often_as_they_say(units, failures):
    lives = simulated(units, seed=failures)
    fits = fit_weibull(lives, by=["fleet"])
    assert fits["failures"].mean() == pytest.approx(failures, rel=0.1)
    assert fits["exists"].all()
    b10 = SCALE * (-np.log(0.9)) ** (1.0 / SHAPE)
    chance = -np.expm1((SPAN[0] / SCALE) ** SHAPE - (SPAN[1] / SCALE) ** SHAPE)
    spans = weibull_chances(lives, [SPAN], by=["fleet"])
    held = {
        "shape": fits["shape_low"].le(SHAPE) & fits["shape_high"].ge(SHAPE),
        "scale": fits["scale_low"].le(SCALE) & fits["scale_high"].fill_null(np.inf).ge(SCALE),
        "b10": fits["b10_low"].le(b10) & fits["b10_high"].ge(b10),
        "chance": spans["chance_low"].le(chance) & spans["chance_high"].ge(chance),
    }
    # 4,000 fleets: a standard error is 0.0034; the likelihood ratio is only nearly chi-square
    for name, holds in held.items():
        assert 0.935 <= holds.mean() <= 0.965, name
