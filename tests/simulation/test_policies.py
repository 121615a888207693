"""Estimators: what they answer on records worked by hand, and the ends of the scale of costs."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from fleets import score
from fleets.make import AS_OF, join_records
from fleets.policies import ANSWER, POLICIES, dead_only_average, dead_only_weibull, table_of
from fleets.scores import score as scores_of
from fleets.scores import score_units

from fleet.decisions import age_replacement_weibull
from fleet.fits import fit_weibull
from fleet.frames import known_schema


def _frame(kind, rows):
    return pl.DataFrame([dict.fromkeys(known_schema(kind)) | row for row in rows],
                        schema=known_schema(kind))  # fmt: skip


@pytest.fixture
def three_dead():
    """Built on 1 January 2000; dead 1000 and 3000 days later, and once of another cause."""
    new = date(2000, 1, 1)
    units = [{"unit": u, "model": "M", "manufactured_earliest": new, "manufactured_latest": new}
             for u in ("a", "b", "c", "d")]  # fmt: skip
    told = [("a", 1000, "capacitor"), ("b", 3000, None), ("c", 2500, "other")]
    reports = [
        {"unit": u, "kind": "failed", "cause": cause,
         "date_latest": date.fromordinal(new.toordinal() + age)}
        for u, age, cause in told
    ]  # fmt: skip
    models = [{"model": "M", "planned_cost": 1.0, "failure_cost": 6.0}]
    return {
        "units": _frame("units", units),
        "reports": _frame("reports", reports),
        "models": _frame("models", models),
    }


def test_the_average_of_the_dead_is_that_of_those_that_may_be_the_capacitors(three_dead):
    answer = dead_only_average(three_dead, AS_OF)
    assert answer["optimal_age"].to_list() == [2000.0] * 4
    assert answer["p_fail"].null_count() == 4


def test_the_weibull_of_the_dead_matches_mean_and_spread_of_log_age(three_dead):
    answer = dead_only_weibull(three_dead, AS_OF)
    logs = np.log([1000.0, 3000.0])
    shape = np.pi / (np.sqrt(6.0) * logs.std(ddof=1))
    scale = np.exp(logs.mean() + np.euler_gamma / shape)
    best = age_replacement_weibull(shape, scale, 1.0, 6.0).age
    assert answer["optimal_age"].to_list() == pytest.approx([float(best)] * 4)


def test_every_policy_answers_once_for_every_unit_listed(fleets_of):
    fleets = fleets_of("old")
    records = join_records(fleets)
    listed = set(pl.concat([f.units for f in fleets]).filter("thought_to_work")["unit"])
    for policy in POLICIES.values():
        answer = policy(records, AS_OF)
        assert tuple(answer.columns) == ANSWER
        assert answer["unit"].is_unique().all()
        assert listed <= set(answer["unit"])


def test_likelihood_by_model_is_the_fit_and_its_best_age(fleets_of):
    fleet = fleets_of("old")[0]
    fit = fit_weibull(table_of(fleet.records, AS_OF).lives).row(0, named=True)
    best = age_replacement_weibull(fit["shape"], fit["scale"], 1.0, fleet.truth.cost).age
    answer = POLICIES["likelihood by model"](fleet.records, AS_OF)
    assert answer["optimal_age"].unique().to_list() == pytest.approx([float(best)], rel=1e-6)


def test_running_to_failure_is_the_whole_way(fleets_of):
    fleets = fleets_of("old")
    answer = POLICIES["run to failure"](join_records(fleets), AS_OF)
    result = scores_of(score_units(fleets, answer))
    assert (result.way, result.cost_ratio, result.worse, result.answered) == (1.0, 1.0, 0.0, 0.0)


@pytest.mark.parametrize("kind", ["old", "young", "heat", "second_lives"])
def test_knowing_the_truth_is_no_way_at_all(fleets_of, kind):
    fleets = fleets_of(kind)
    told = []
    for fleet in fleets:
        best = age_replacement_weibull(
            fleet.truth.law.shape, fleet.units["scale_1"].to_numpy(), 1.0, fleet.truth.cost
        )
        told.append(
            fleet.units.select(
                "unit", "p_fail", p_fail_low="p_fail", p_fail_high="p_fail",
                optimal_age=pl.Series(best.age),
            )
        )  # fmt: skip
    result = scores_of(score_units(fleets, pl.concat(told)))
    assert result.covered == 1.0
    assert result.answered == pytest.approx(1.0, rel=1e-12)
    assert result.calibration == pytest.approx(0.0, abs=1e-12)
    assert result.way == pytest.approx(0.0, abs=1e-5)


def test_the_command_prints_every_policy_and_one_more(capsys):
    score.main(["--fleets", "2", "--failures", "5", "--kind", "old", "young",
                "--estimator", "fleets.policies:fixed_ten_years"])  # fmt: skip
    printed = capsys.readouterr().out
    for name in (*POLICIES, "fleets.policies:fixed_ten_years"):
        assert printed.count(f"\n{name} ") == 3
    assert "All 2 of these together" in printed
