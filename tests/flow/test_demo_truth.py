"""The demo's answers against the true parameters its records were drawn from."""

import json
import math
from datetime import date

import polars as pl
import pytest

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.answers import hazard, in_years, lives, survival, weibull
from fleet.flow.checking import check
from fleet.flow.demo import is_invented, suggested_as_of
from fleet.flow.due import due
from fleet.flow.places import demo_folder

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def truth():
    return json.loads((demo_folder() / "truth.json").read_text())


@pytest.fixture(scope="module")
def table(demo_store):
    return in_years(lives(demo_store, as_of=CUT))


def _true_survival(age, shape, scale):
    return math.exp(-((age / scale) ** shape))


def test_the_store_says_that_it_is_invented(demo_store):
    assert is_invented(demo_store)
    assert suggested_as_of(demo_store) == CUT


@pytest.mark.parametrize("model", ["DQ31", "WQ18", "IX07"])
def test_limits_of_the_shape_hold_the_truth(table, truth, model):
    fits = weibull(table, by=["model"]).frame
    fit = fits.filter(pl.col("model") == model).row(0, named=True)
    assert fit["shape_low"] <= truth["models"][model]["shape"] <= fit["shape_high"]


def test_the_bad_batch_is_told_from_its_model(table, truth):
    model = next(m for m in truth["models"].values() if truth["bad_batch"] in m["batches"])
    true_scale = model["batches"][truth["bad_batch"]]["scale_years"]
    fits = weibull(table, by=["batch"]).frame
    fit = fits.filter(pl.col("batch") == truth["bad_batch"]).row(0, named=True)
    assert fit["scale_low"] <= true_scale <= fit["scale_high"]
    assert fit["scale_high"] < model["scale_years"]


@pytest.mark.parametrize("model", ["DQ31", "WQ18"])
def test_the_curve_holds_the_true_survival_where_it_is_drawn(table, truth, model):
    true = truth["models"][model]
    # 99 % limits, as several ages are looked at together and all must hold.
    points = survival(table, by=["model"], level=0.99).frame.filter(
        (pl.col("model") == model) & pl.col("supported") & pl.col("survival_low").is_not_null()
    )
    assert points.height >= 8
    # A model's batches differ a little, so the truth is a band between its best and worst batch.
    scales = [batch["scale_years"] for batch in true["batches"].values()]
    for row in points.iter_rows(named=True):
        best = _true_survival(row["age"], true["shape"], max(scales))
        worst = _true_survival(row["age"], true["shape"], min(scales))
        assert row["survival_low"] <= best
        assert worst <= row["survival_high"]


def test_the_failure_rate_rises_only_where_parts_wear_out(table, truth):
    rates = hazard(table, by=["model"]).frame
    wears = rates.filter((pl.col("model") == "WQ18") & pl.col("hazard").is_not_null())
    assert wears.height > 10
    assert wears["hazard"].is_sorted()
    flat = rates.filter(pl.col("model") == truth["no_wear_out_model"])
    true_rate = 1 / truth["models"][truth["no_wear_out_model"]]["scale_years"]
    middle = flat.filter("supported").row(flat.filter("supported").height // 2, named=True)
    assert middle["hazard_low"] <= true_rate <= middle["hazard_high"]


def _true_chance(row, model, scale):
    age = row["age"] / DAYS_PER_YEAR
    now = _true_survival(age, model["shape"], scale)
    return 1 - _true_survival(age + row["horizon_years"], model["shape"], scale) / now


def _with_true_chance(frame, truth):
    """Rows whose parts are of one known batch, each with the chance it was drawn with."""
    for row in frame.filter(pl.col("p_fail").is_not_null()).iter_rows(named=True):
        model = truth["models"][row["model"]]
        if row["batch"] in model["batches"]:
            scale = model["batches"][row["batch"]]["scale_years"]
            yield row, _true_chance(row, model, scale)


def test_supported_chances_hold_the_true_chance(demo_store, truth):
    frame = due(demo_store, as_of=CUT).frame.filter("supported")
    rows = list(_with_true_chance(frame, truth))
    assert len(rows) > 30
    held = [row["p_fail_low"] <= true <= row["p_fail_high"] for row, true in rows]
    # 90 % limits; units of one batch miss together, so the share varies more than by their number
    assert sum(held) / len(held) > 0.8


def test_failures_to_expect_lie_within_the_limits_together(demo_store, truth):
    # Single units of a small batch can miss: a plug-in fit knows nothing of its neighbours.
    rows = list(_with_true_chance(due(demo_store, as_of=CUT).frame, truth))
    assert len(rows) >= 30
    expected = sum(true for _, true in rows)
    low = sum(row["p_fail_low"] or 0.0 for row, _ in rows)
    high = sum(1.0 if row["p_fail_high"] is None else row["p_fail_high"] for row, _ in rows)
    assert low <= expected <= high
    assert sum(row["p_fail"] for row, _ in rows) == pytest.approx(expected, rel=0.25)


def test_no_machine_is_recapped_for_age_where_age_does_not_matter(demo_store, truth):
    frame = due(demo_store, as_of=CUT).frame
    flat = frame.filter(pl.col("model") == truth["no_wear_out_model"])
    assert flat.height > 5
    assert "recap_now" not in flat["action"].to_list()


def test_machines_of_the_bad_batch_are_acted_on(demo_store, truth):
    frame = due(demo_store, as_of=CUT).frame
    bad = frame.filter(pl.col("batch") == truth["bad_batch"])
    assert bad.height >= 1
    assert set(bad["action"]) <= {"recap_now", "measure", "check_in"}
    assert (bad["p_fail"] > 0.5).all()


def test_the_check_names_the_contradictory_unit(demo_store, truth):
    found = check(demo_store, as_of=CUT).frame
    assert any(truth["contradictory_unit"] in subject for subject in found["subject"])
    assert any("not reported working" in finding for finding in found["finding"])


def test_an_earlier_date_shows_what_was_known_then(demo_store):
    early = lives(demo_store, as_of=date(2018, 1, 1))
    late = lives(demo_store, as_of=CUT)
    assert 0 < early.lives.height < late.lives.height
    assert early.working["last_known_working"].drop_nulls().max() <= date(2018, 1, 1)
