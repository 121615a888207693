"""What became of the demo's jobs, and that nothing else depends on it."""

import json
from itertools import pairwise

import polars as pl

from demo_data.aftermath import WENT_WRONG, WENT_WRONG_OF, tell_outcomes
from demo_data.make import simulate

FIXES = ["recapped", "repaired", "board_swapped"]


def test_cured_is_told_of_jobs_only_and_for_most(current):
    reports = current["reports"]
    told = reports.drop_nulls("cured")
    assert set(told["kind"]) == set(FIXES)
    recaps = reports.filter(pl.col("kind") == "recapped")
    assert 0.6 < recaps["cured"].count() / recaps.height < 0.9


def test_units_that_went_wrong_are_those_of_the_truth(folder, current):
    truth = json.loads((folder / "truth.json").read_text())
    no = current["reports"].filter(pl.col("cured") == "no")
    assert sorted(no["unit"]) == sorted(truth["recaps_that_did_not_cure"])
    text = " ".join((folder / "README.md").read_text(encoding="utf-8").split())
    assert f"{len(no)} recaps did not cure" in text
    assert f"{len(truth['failed_early_by_the_job'])} failed early" in text
    wrong = WENT_WRONG_OF["WQ18"]
    for share in (WENT_WRONG["not_cured"], WENT_WRONG["failed_early"], *wrong.values()):
        assert f" {100 * share:.0f}" in text


def test_no_other_record_depends_on_it(world, monkeypatch):
    """Without the aftermath the same rows are there, but for `cured` and the rows put in."""
    from demo_data import make
    from demo_data.aftermath import Aftermath

    monkeypatch.setattr(make, "tell_outcomes", lambda *_: Aftermath())
    plain = simulate()
    for kind in ("units", "readings"):
        assert plain.rows[kind] == world.rows[kind]
    now = iter(world.rows["reports"])
    for row in plain.rows["reports"]:
        # each in its order, with others between them
        assert any({k: v for k, v in one.items() if k != "cured"} == row for one in now)
    new = 2 * len(world.aftermath.failed_early) + len(world.aftermath.not_cured)
    assert len(world.rows["reports"]) == len(plain.rows["reports"]) + new


def test_what_went_wrong_was_put_right_and_then_worked_or_nothing_was_told(world):
    for story in world.stories:
        events = story.events
        for event, following in pairwise(events):
            assert event.day <= following.day, story.machine.unit
    names = {story.machine.unit for story in world.stories}
    assert set(world.aftermath.failed_early) <= names


def test_it_is_drawn_from_a_stream_of_its_own():
    assert tell_outcomes([], [], [], 1).not_cured == []
