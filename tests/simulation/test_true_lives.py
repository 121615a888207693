"""Lives of known law, fed in full and through the records, give back their law."""

from dataclasses import replace

import polars as pl
import pytest
from fleets.kinds import OLD
from fleets.make import AS_OF, make_fleet
from fleets.world import draw_machines, draw_truth

from fleet.fits import fit_weibull
from fleet.frames import LIFE
from fleet.lives import build_lives

ONE_BATCH = replace(OLD, batches=(1, 1), shape=(3.0, 3.0), scale=(15.0, 15.0), batch_sd=(0.0, 0.0))


def _holds(fit, truth):
    assert fit["shape_low"] < truth.law.shape < fit["shape_high"]
    assert fit["scale_low"] < truth.scale < fit["scale_high"]


def test_lives_fed_in_full(rng):
    truth = draw_truth(rng, ONE_BATCH)
    machines = draw_machines(rng, truth, 20_000)
    ages = machines.fails.min(axis=1) - machines.built
    lives = pl.DataFrame({"entry": 0.0, "low": ages, "high": ages, "known_by": None, "count": 1.0})
    fit = fit_weibull(lives.cast(dict(LIFE)), level=0.99).row(0, named=True)
    _holds(fit, truth)
    assert fit["shape"] == pytest.approx(3.0, rel=0.02)
    assert fit["scale"] == pytest.approx(truth.scale, rel=0.01)


def test_each_batch_gives_back_its_own_scale(rng):
    truth = draw_truth(rng, replace(OLD, batches=(3, 3), batch_sd=(0.4, 0.4)))
    machines = draw_machines(rng, truth, 20_000)
    ages = machines.fails.min(axis=1) - machines.built
    for number, scale in enumerate(truth.batch_scales):
        own = ages[machines.batch == number]
        lives = pl.DataFrame(
            {"entry": 0.0, "low": own, "high": own, "known_by": None, "count": 1.0}
        )
        fit = fit_weibull(lives.cast(dict(LIFE)), level=0.99).row(0, named=True)
        assert fit["scale_low"] < scale < fit["scale_high"]


WELL_KEPT = replace(
    ONE_BATCH,
    prompt=1.0,
    drop_out=1e-9,
    unknown_cause=0.0,
    failure_to_year=0.0,
    build_to_year=0.0,
    gap=(0.02, 0.02),
)


LATE_ENTRY = replace(WELL_KEPT, failure_only=(0.0, 0.0))
KINDS = {
    "late entry": LATE_ENTRY,
    "failure-only too": replace(WELL_KEPT, failure_only=(0.03, 0.03), join=(0.01, 0.01)),
    "found at checks": replace(LATE_ENTRY, prompt=0.0, gap=(1.0, 1.0)),
    "dates to the year": replace(WELL_KEPT, build_to_year=1.0, failure_to_year=1.0),
}


@pytest.mark.parametrize("name", KINDS)
def test_a_large_fleet_through_the_whole_chain(name, rng):
    """Failures all told, no silence: the likelihood is then right, and its limits must hold."""
    kind = KINDS[name]
    fleet = make_fleet(rng, kind, failures=600)
    table = build_lives(fleet.records, as_of=AS_OF)
    truncated = table.lives["known_by"].is_not_null().sum()
    assert truncated > 50 if kind.failure_only[1] else truncated == 0
    fit = fit_weibull(table.lives, level=0.99).row(0, named=True)
    assert fit["failures"] > 590
    _holds(fit, fleet.truth)
