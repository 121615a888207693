"""The demo's bad batch is found from its records, and no honest one is accused."""

import json
from datetime import date

import polars as pl
import pytest

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.places import demo_folder
from fleet.flow.suspects import suspects
from fleet.flow.table import Settings

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def truth():
    return json.loads((demo_folder() / "truth.json").read_text())


@pytest.fixture(scope="module")
def found(demo_store):
    return suspects(demo_store, as_of=CUT)


def test_the_bad_batch_is_the_one_suspect(found, truth):
    batches = found.frame.filter(level="batch")
    accused = batches.filter(verdict="shorter life")
    assert accused["name"].to_list() == [truth["bad_batch"]]
    assert batches["name"][0] == truth["bad_batch"]
    honest = {b for m in truth["models"].values() for b in m["batches"]} - {truth["bad_batch"]}
    assert honest <= set(batches["name"])


def test_limits_of_the_effects_hold_what_was_drawn(found, truth):
    """Scale of the batch over the geometric mean of its model's; 90 % limits, so one of the
    thirteen may miss.
    """
    missed = 0
    for name, model in truth["models"].items():
        rows = found.frame.filter(level="batch", model=name, parts="original")
        for row in rows.iter_rows(named=True):
            true = model["batches"][row["name"]]["scale_years"] / model["scale_years"]
            missed += not row["effect_low"] <= true <= row["effect_high"]
    assert missed <= 1


def test_models_are_told_batch_from_design(found, truth):
    verdicts = dict(
        found.frame.filter(level="model", parts="original").select("name", "verdict").iter_rows()
    )
    bad = next(n for n, m in truth["models"].items() if truth["bad_batch"] in m["batches"])
    assert verdicts[bad] == "one of 5 batches lives shorter: batch"
    for name in set(verdicts) - {bad}:
        assert not verdicts[name].endswith(": batch")
    assert (
        "wear" not in verdicts[truth["no_wear_out_model"]]
        or "open" in verdicts[truth["no_wear_out_model"]]
    )


def test_either_end_of_unknown_causes_finds_the_same_suspect(demo_store, truth):
    for cause in ("capacitor", "other"):
        found = suspects(demo_store, as_of=CUT, settings=Settings(unknown_cause=cause))
        accused = found.frame.filter(level="batch", verdict="shorter life")
        assert accused["name"].to_list() == [truth["bad_batch"]]


def test_no_demo_failures_crowd_on_the_calendar(found):
    patterns = found.frame["pattern"].drop_nulls()
    assert not patterns.str.contains("three months").any()


def test_the_bad_batch_is_where_the_variation_of_its_model_lies(found, truth):
    """True share: variance of log scales, weighed by lives, over that and pi^2 / 6 / shape^2."""
    shares = found.shares.filter(model="BZ62", parts="original", part_of_life="batch")
    rows = found.frame.filter(level="batch", model="BZ62", parts="original")
    model = truth["models"]["BZ62"]
    logs = pl.Series(
        [model["batches"][b]["scale_years"] * DAYS_PER_YEAR for b in rows["name"]]
    ).log()
    weight = rows["lives"] / rows["lives"].sum()
    between = float((weight * (logs - (weight * logs).sum()) ** 2).sum())
    true = between / (between + 1.6449340668 / model["shape"] ** 2)
    row = shares.row(0, named=True)
    assert row["share_low"] <= true <= row["share_high"]
