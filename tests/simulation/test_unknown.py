"""How machines come to be known, one rule at a time."""

from dataclasses import replace

import numpy as np
import polars as pl
from fleets.kinds import OLD
from fleets.renewal import State
from fleets.told import Told
from fleets.unknown import meet
from fleets.world import day_of

LOG = day_of(2014)
UNTIL = LOG + 3000.0
PROMPT = replace(OLD, prompt=1.0)
FOUND_LATER = replace(OLD, prompt=0.0)


def _meet(rng, truth, machines):
    told, state = Told(), State.of(machines)
    return meet(rng, truth, machines, state, told, until=UNTIL), told.frame(), state


def test_only_failures_since_the_log_began_are_told(rng, make_truth, make_machines):
    truth = make_truth(kind=PROMPT, failure_only=1.0)
    met, told, _ = _meet(rng, truth, make_machines([LOG - 1.0, LOG + 1.0, UNTIL + 1.0]))
    assert told.select("machine", "day", "kind", "cause", "dead").rows() == [
        (1, LOG + 1.0, "failed", "capacitor", False)
    ]
    assert met.enrolled.tolist() == [np.inf, LOG + 1.0, np.inf]
    assert not met.working.any()


def test_none_is_told_where_the_chance_is_none(rng, make_truth, make_machines):
    met, told, _ = _meet(rng, make_truth(kind=PROMPT), make_machines([LOG + 1.0]))
    assert told.is_empty()
    assert np.isinf(met.enrolled).all()


def test_the_day_it_was_found_dead_decides_whether_it_counts(rng, make_truth, make_machines):
    truth = make_truth(kind=FOUND_LATER, failure_only=1.0, gap=200.0)
    fails = np.full(400, LOG - 100.0)
    met, told, _ = _meet(rng, truth, make_machines(fails))
    # Found 200 days later on average: e^-(100/200) of them after the log began.
    assert abs(told.height / 400 - np.exp(-0.5)) < 4 * 0.5 / 20
    assert told["dead"].all()
    assert (told["day"] >= LOG).all()
    assert (told["last_seen"].drop_nulls() < LOG - 100.0).all()
    assert abs(told["last_seen"].null_count() / told.height - 0.5) < 0.15
    assert (met.enrolled[told["machine"]] == told["day"].to_numpy()).all()


def test_a_machine_that_works_joins_and_one_that_failed_does_not(rng, make_truth, make_machines):
    truth = make_truth(kind=PROMPT, join=1e3)  # at once
    met, told, _ = _meet(rng, truth, make_machines([LOG - 1.0, LOG + 50.0]))
    assert told.is_empty()
    assert met.working.tolist() == [False, True]
    assert LOG <= met.enrolled[1] < LOG + 1.0


def test_joining_is_at_the_rate_given(rng, make_truth, make_machines):
    truth = make_truth(join=1.0 / 3000.0)
    met, _, _ = _meet(rng, truth, make_machines(np.full(10_000, UNTIL + 9.0)))
    # Over 3000 days at one in 3000 days: 1 - 1/e.
    assert abs(met.working.mean() - (1.0 - np.exp(-1.0))) < 4 * 0.5 / 100


def test_old_failures_are_forgotten_at_the_rate_given(rng, make_truth, make_machines):
    kind = replace(PROMPT, forgetting=True)
    truth = make_truth(kind=kind, failure_only=1.0, remembers=1000.0)
    early, late = np.full(4000, UNTIL - 4000.0), np.full(4000, UNTIL - 500.0)
    _, told, _ = _meet(rng, truth, make_machines(np.concatenate([early, late])))
    shares = [told.filter(pl.col("machine") < 4000).height, told.height]
    assert abs(shares[0] / 4000 - np.exp(-4.0)) < 4 * 0.5 / np.sqrt(4000)
    assert abs((shares[1] - shares[0]) / 4000 - np.exp(-0.5)) < 4 * 0.5 / np.sqrt(4000)


def test_a_machine_that_failed_for_another_cause_is_known_by_that(rng, make_truth, make_machines):
    truth = make_truth(kind=PROMPT, failure_only=1.0, other=1e3)
    met, told, _ = _meet(rng, truth, make_machines([LOG + 500.0]))
    assert told["cause"].to_list() == ["other"]
    assert met.enrolled[0] == told["day"][0] < LOG + 1.0
    assert not met.working[0]


def test_renewals_before_it_was_known_are_told_when_it_joins(rng, make_truth, make_machines):
    kind = replace(PROMPT, second_lives=True)
    truth = make_truth(kind=kind, join=1e3, renewed_scale=1e9)
    machines = make_machines(np.full(300, LOG - 1000.0))
    met, told, state = _meet(rng, truth, machines)
    # Six in ten were renewed, ran on for ever and joined; a quarter of those in one position,
    # whose other position was drawn to fail a day after the first.
    assert set(told["kind"]) == {"recapped"}
    first = told.unique("machine", keep="first", maintain_order=True)
    assert abs(first.height / 300 - 0.6) < 4 * 0.5 / np.sqrt(300)
    bench = first["day"].to_numpy() - (LOG - 1000.0)
    assert ((bench >= 7.0) & (bench <= 60.0)).all()
    joined = told.filter(pl.col("entered").is_finite())
    assert (met.enrolled[joined["machine"]] == joined["entered"].to_numpy()).all()
    place = joined.filter(pl.col("positions").is_null())["machine"].to_numpy()
    assert not state.factory[place].any()
    assert (state.scale[place] == 1e9).all()
    assert set(joined["positions"].drop_nulls()) <= {"C1", "C2"}
