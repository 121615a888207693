"""How often honest batches are accused, and a bad one is found, on simulated fleets.

Fleets as they are told: late entry, failures known only because they happened, checks, years for
dates, unknown causes, batches that follow one another in time or are mixed. METHODS:
lives-alike has the rates of larger runs.
"""

from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from fleets.kinds import OLD
from fleets.make import AS_OF, make_fleet

from fleet.fits.batch_or_design import lives_alike
from fleet.lives import build_lives

HONEST = replace(OLD, batches=(2, 6), batch_sd=(0.0, 0.0))
FLEETS = 40
pytestmark = pytest.mark.slow


def _accused(fleet, seed):
    """Failures by batch of those with a name, and the batches told apart as shorter-lived."""
    lives = build_lives(fleet.records, as_of=AS_OF).lives.filter(pl.col("batch").is_not_null())
    _, groups = lives_alike(lives, ["model"], "batch", draws=199, seed=seed)
    short = pl.col("order").is_not_null() & (pl.col("failures") > pl.col("expected"))
    failures = dict(groups.select("batch", "failures").iter_rows())
    return failures, set(groups.filter(short & (pl.col("failures") >= 3.0))["batch"])


def test_honest_batches_are_seldom_accused():
    accused = 0
    for seed, rng in enumerate(np.random.default_rng(21).spawn(FLEETS)):
        _, suspects = _accused(make_fleet(rng, HONEST, failures=20), seed)
        accused += bool(suspects)
    # At a rate of 5 % more than 6 of 40 would come up once in 280 (binomial).
    assert accused <= 6


def test_a_batch_of_half_the_life_is_mostly_found_and_the_others_left_alone(monkeypatch):
    import fleets.make as made

    draw = made.draw_truth

    def one_bad(rng, kind):
        truth = draw(rng, kind)
        scales = truth.batch_scales.copy()
        scales[0] *= 0.5
        return replace(truth, batch_scales=scales)

    monkeypatch.setattr(made, "draw_truth", one_bad)
    could, found, wrong = 0, 0, 0
    for seed, rng in enumerate(np.random.default_rng(22).spawn(FLEETS)):
        failures, suspects = _accused(make_fleet(rng, HONEST, failures=50), seed)
        bad = {name for name in failures if name.endswith("-B0")}
        wrong += bool(suspects - bad)
        if len(failures) > 1 and sum(failures[name] for name in bad) >= 5.0:
            could += 1
            found += bool(suspects & bad)
    assert could >= 10
    assert found > 0.6 * could
    assert wrong <= 6
