"""What is told of a machine that is watched, one rule at a time."""

from dataclasses import replace

import numpy as np
import polars as pl
from fleets.kinds import OLD
from fleets.renewal import State
from fleets.told import Told
from fleets.watched import watch
from fleets.world import day_of

JOIN = day_of(2014)
UNTIL = JOIN + 3000.0
STAYS = replace(OLD, drop_out=1e-12)
PROMPT = replace(STAYS, prompt=1.0)
AT_CHECK = replace(STAYS, prompt=0.0)


def _watch(rng, truth, machines):
    told, state = Told(), State.of(machines)
    count = len(machines.built)
    watch(rng, truth, state, np.arange(count), np.full(count, JOIN), told, until=UNTIL)
    return told.frame().sort("machine", "day"), state


def test_a_failure_noticed_in_use_is_told_on_its_day_and_is_the_last_word(
    rng, make_truth, make_machines
):
    told, _ = _watch(rng, make_truth(kind=PROMPT), make_machines([JOIN + 1000.0]))
    assert told["kind"].to_list()[-1] == "failed"
    assert told["day"][-1] == JOIN + 1000.0
    assert not told["dead"][-1]
    checks = told.filter(pl.col("kind") == "working")
    assert 4 <= checks.height <= 20  # ten gaps of 100 days on average
    assert checks.height == told.height - 1
    assert (checks["day"] < JOIN + 1000.0).all()


def test_a_failure_not_noticed_is_found_at_the_next_check_in(rng, make_truth, make_machines):
    told, _ = _watch(rng, make_truth(kind=AT_CHECK), make_machines(np.full(200, JOIN + 1000.0)))
    failed = told.filter(pl.col("kind") == "failed")
    assert failed["machine"].to_list() == list(range(200))
    assert failed["dead"].all()
    late = failed["day"].to_numpy() - (JOIN + 1000.0)
    assert (late > 0).all()
    # Gaps of gamma law with shape 4, mean 100: the mean wait for the next is
    # E[gap^2] / (2 E[gap]) = 100 (1 + 1/4) / 2 = 62.5, its standard deviation 46.
    assert abs(late.mean() - 62.5) < 4 * 46 / np.sqrt(200)


def test_good_news_comes_at_the_gaps_given(rng, make_truth, make_machines):
    told, _ = _watch(rng, make_truth(kind=PROMPT), make_machines(np.full(200, UNTIL + 10.0)))
    assert set(told["kind"]) == {"working"}
    assert abs(told.height / 200 - 30.0) < 1.0
    assert told["day"].max() < UNTIL


def test_nothing_is_heard_of_a_machine_that_dropped_out(rng, make_truth, make_machines):
    kind = replace(PROMPT, drop_out=365.25 / 1000.0)  # after 1000 days on average
    told, _ = _watch(rng, make_truth(kind=kind), make_machines(np.full(400, JOIN + 1000.0)))
    failed = told.filter(pl.col("kind") == "failed")["machine"].n_unique()
    assert abs(failed / 400 - np.exp(-1.0)) < 4 * 0.5 / 20


def test_a_failure_after_the_as_of_date_is_not_told(rng, make_truth, make_machines):
    told, _ = _watch(rng, make_truth(kind=AT_CHECK), make_machines([UNTIL + 1.0, UNTIL - 1e-6]))
    assert "failed" not in told["kind"].to_list()


def test_a_failure_of_another_cause_is_put_right_or_ends_the_story(rng, make_truth, make_machines):
    truth = make_truth(kind=PROMPT, other=1.0 / 500.0)
    told, _ = _watch(rng, truth, make_machines(np.full(400, UNTIL + 10.0)))
    other = told.filter(pl.col("kind") == "failed")
    assert set(other["cause"]) == {"other"}
    assert other["machine"].is_unique().all()
    right = told.filter(pl.col("kind") == "repaired").join(other, on="machine", suffix="_failed")
    bench = right["day"] - right["day_failed"]
    assert ((bench >= 7.0) & (bench <= 60.0)).all()
    assert abs(right.height / other.height - 0.7) < 0.12
    broken = other.join(right, on="machine", how="anti")
    last = told.group_by("machine").agg(last=pl.col("day").max())
    ends = broken.join(last, on="machine").filter(pl.col("day") < UNTIL - 60.0)
    assert ends.height > 0
    assert (ends["last"] == ends["day"]).all()
    between = told.filter(pl.col("kind") == "working").join(right, on="machine", suffix="_back")
    quiet = (pl.col("day") >= pl.col("day_failed")) & (pl.col("day") < pl.col("day_back"))
    assert between.filter(quiet).is_empty()


def test_a_set_renewed_after_a_failure_is_watched_anew(rng, make_truth, make_machines):
    kind = replace(PROMPT, second_lives=True)
    truth = make_truth(kind=kind, renewed_scale=1e9)
    machines = make_machines(np.stack([np.full(200, JOIN + 500.0), np.full(200, 1e8)], axis=1))
    told, state = _watch(rng, truth, machines)
    recaps = told.filter(pl.col("kind") == "recapped")
    assert abs(recaps.height / 200 - 0.7) < 4 * 0.5 / np.sqrt(200)
    assert set(recaps["because"]) == {"failure"}
    partly = recaps.filter(pl.col("positions").is_not_null())
    assert set(partly["positions"]) == {"C1"}  # the position that failed
    place = partly["machine"].to_numpy()
    assert (state.start[place, 0] == partly["day"].to_numpy()).all()
    assert (state.start[place, 1] == machines.built[place]).all()
    assert (state.fails[place, 1] == 1e8).all()
    after = told.filter(pl.col("kind") == "working").join(recaps, on="machine", suffix="_new")
    assert after.filter(pl.col("day") > pl.col("day_new")).height > 5 * recaps.height
