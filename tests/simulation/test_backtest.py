"""The look back on simulated fleets: told the truth, it finds the truth."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest
from fleets.kinds import OLD
from fleets.make import AS_OF, join_records, make_fleets

from fleet.decisions import age_replacement_weibull
from fleet.flow.backtest import Asked, look_back_on, past_of_records

FIRST = date(2017, 1, 1)


def _day(day):
    return float((day - date(1970, 1, 1)).days)


def _truth(fleets, *, twist=lambda p: p):
    """A forecast that knows each machine's batch: its true chance, and its best age."""

    def forecast(records, as_of, horizon_years, *, table=None, new_parts="typical"):
        parts = []
        for fleet in fleets:
            units = fleet.units.join(table.working.select("unit"), on="unit", how="semi")
            if units.is_empty():
                continue
            chance = fleet.sets(units).chance(_day(as_of), _day(as_of) + 365.25 * horizon_years)
            best = age_replacement_weibull(
                fleet.truth.law.shape, units["scale_1"].to_numpy(), 1.0, fleet.truth.cost
            )
            parts.append(
                units.select("unit").with_columns(
                    p_fail=pl.Series(twist(chance)), optimal_age=pl.Series(best.age)
                )
            )
        age = (pl.lit(as_of) - pl.col("started")).dt.total_days().cast(pl.Float64)
        return table.working.join(pl.concat(parts), on="unit").with_columns(age=age)

    return forecast


def _found(kind, *, twist=lambda p: p, fleets=40):
    made = make_fleets(kind, fleets=fleets, failures=20, seed=5)
    past = past_of_records(join_records(made), as_of=AS_OF)
    asked = Asked(first=FIRST, level=0.95)
    return look_back_on(past, as_of=AS_OF, asked=asked, forecast=_truth(made, twist=twist))


@pytest.fixture(scope="module")
def found():
    return _found(OLD)


def test_true_chances_come_true(found):
    row = found.together.row(0, named=True)
    assert row["failures"] > 500
    assert row["happened_low"] <= row["predicted"] <= row["happened_high"]
    # By size of chance; 95 % limits of ten groups may miss one or two.
    held = pl.col("predicted").is_between("happened_low", "happened_high")
    assert found.bins.select(held.sum()).item() >= 8
    assert found.calibration_error < 0.02
    assert row["gain_low"] > 0.0  # the truth beats counting


def test_true_best_ages_cost_least(found):
    row = found.together.row(0, named=True)
    assert row["saved_on_run_to_failure_low"] > 0.0
    assert row["saved_on_fixed_age_low"] > 0.0


def test_true_chances_come_true_where_most_are_lost_from_sight():
    lost = _found(replace(OLD, drop_out=0.2))
    row = lost.together.row(0, named=True)
    assert row["followed"] < 0.7
    assert row["happened_low"] <= row["predicted"] <= row["happened_high"]


def test_chances_that_are_too_high_are_found_out(found):
    bent = _found(OLD, twist=lambda p: 1.0 - (1.0 - p) ** 1.6)
    row, true = (one.together.row(0, named=True) for one in (bent, found))
    assert row["predicted"] > row["happened_high"]
    assert row["brier"] > true["brier"]
    assert row["log_score"] > true["log_score"]


@pytest.mark.slow
def test_numbers_that_failed_lie_within_the_limits_of_the_posterior():
    """Fleets by fleet on two past days: each fleet is a model of its own."""
    made = make_fleets(OLD, fleets=40, failures=30, seed=6)
    past = past_of_records(join_records(made), as_of=AS_OF)
    found = look_back_on(past, as_of=AS_OF, asked=Asked(first=date(2021, 6, 1), every_years=2.0))
    told = found.models.drop_nulls("expected")
    assert told.height > 60
    assert told["held"].mean() >= 0.85
    assert told["expected"].sum() == pytest.approx(told["failures"].sum(), rel=0.25)
