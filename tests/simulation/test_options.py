"""Recaps in advance, readings, vague enrolments and records that disagree: what each adds, and that
classes without them stay as they were.
"""

import hashlib
from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from fleets.kinds import OLD
from fleets.make import AS_OF, join_records, make_fleets
from fleets.measured import NEW_OHM, RISE
from fleets.renewal import State
from fleets.told import Told
from fleets.watched import watch
from fleets.world import day_of

from fleet.ages import DAYS_PER_YEAR
from fleet.lives import build_lives

JOIN = day_of(2014)
UNTIL = JOIN + 3000.0
QUIET = replace(OLD, drop_out=1e-12, prompt=1.0)

# SHA-256 of the records of three fleets, ten failures each, seed 3, made before these options
# existed, over the columns that say anything: a kind of record may gain columns meanwhile.
# A change here changes every table of scores made with the simulator.
BEFORE = {
    "old": "5716c2a84237fa52efc77768efefc96c4ead3011b13dd937cb3df3f2a1e75b50",
    "young": "626aca49e8bb19148a1a844a8e615116e66229e6f6b717ec4fe8ddec3696211b",
    "everything": "1a83f9db822105b3e912875e5dcc8bba04a2312026cb1a3906917d2f7de00440",
}


@pytest.mark.parametrize("kind", BEFORE)
def test_classes_without_the_options_are_the_same_to_the_last_letter(kind):
    records = join_records(make_fleets(kind, fleets=3, failures=10, seed=3))
    digest = hashlib.sha256()
    for name, table in sorted(records.items()):
        said = sorted(column.name for column in table if column.null_count() < table.height)
        if said:
            digest.update(name.encode())
            digest.update(table.select(said).write_csv().encode())
    assert digest.hexdigest() == BEFORE[kind]


def _watch(rng, truth, machines):
    told, state = Told(), State.of(machines)
    count = len(machines.built)
    watch(rng, truth, state, np.arange(count), np.full(count, JOIN), told, until=UNTIL)
    return told.frame().sort("machine", "day"), state


def test_sets_are_renewed_in_advance_at_the_rate_given(rng, make_truth, make_machines):
    truth = make_truth(kind=QUIET, planned=1.0 / 3000.0, renewed_scale=1e9)
    machines = make_machines(np.full(2000, 1e8))
    told, state = _watch(rng, truth, machines)
    recaps = told.filter(pl.col("kind") == "recapped")
    assert set(recaps["because"]) == {"planned"}
    assert recaps["positions"].is_null().all()  # always whole sets
    first = recaps.filter(pl.col("machine").is_first_distinct())
    # One mean waiting time is watched: 1 - 1/e are renewed at least once.
    assert abs(first.height / 2000 - (1 - np.exp(-1))) < 4 * 0.5 / np.sqrt(2000)
    last = recaps.group_by("machine").agg(pl.col("day").max()).sort("machine")
    assert (state.start[last["machine"].to_numpy(), 0] == last["day"].to_numpy()).all()
    assert not state.factory[last["machine"].to_numpy()].any()


def test_a_set_renewed_in_advance_does_not_tell_of_its_failure(rng, make_truth, make_machines):
    truth = make_truth(kind=QUIET, planned=1.0 / 1000.0, renewed_scale=1e9)
    fails = JOIN + 1000.0
    told, _ = _watch(rng, truth, make_machines(np.full(1000, fails)))
    failed = set(told.filter(pl.col("kind") == "failed")["machine"])
    recaps = told.filter(pl.col("kind") == "recapped")
    first = recaps.filter(pl.col("machine").is_first_distinct())
    assert not failed & set(first["machine"])
    assert len(failed) + first.height == 1000
    assert (first["day"] < fails).all()
    assert abs(len(failed) / 1000 - np.exp(-1.0)) < 4 * 0.5 / np.sqrt(1000)
    # The new set is watched in its turn.
    later = told.filter(pl.col("kind") == "working").join(first, on="machine", suffix="_new")
    assert later.filter(pl.col("day") > pl.col("day_new")).height > first.height


def test_a_broken_machine_is_not_renewed_in_advance(rng, make_truth, make_machines):
    truth = make_truth(kind=QUIET, planned=1.0 / 500.0, other=1.0 / 500.0, renewed_scale=1e9)
    told, _ = _watch(rng, truth, make_machines(np.full(1000, 1e8)))
    last = pl.col("kind").shift(1).over("machine")
    recaps = told.with_columns(before=last).filter(pl.col("kind") == "recapped")
    assert recaps.height > 500
    assert "failed" not in recaps["before"].to_list()


def test_recaps_in_advance_make_whole_sets_that_run_through_the_chain(fleets_of):
    fleets = fleets_of("planned", failures=20)
    lives = build_lives(join_records(fleets), as_of=AS_OF).lives
    planned = lives.filter(pl.col("end") == "planned").height
    rates = [fleet.truth.planned * DAYS_PER_YEAR for fleet in fleets]
    assert all(0.02 <= rate <= 0.1 for rate in rates)
    assert planned > 10
    assert "replaced_unknown" in lives["parts"].to_list()
    assert "partial" not in lives["parts"].to_list()


def test_readings_rise_with_wear(fleets_of):
    fleets = fleets_of("readings", failures=20)
    for fleet in fleets:
        readings = fleet.records["readings"]
        checks = fleet.records["reports"].filter(pl.col("kind") == "working")
        near = 4 * 0.5 / np.sqrt(checks.height)
        assert abs(readings.height / checks.height - 0.5) < near
        assert set(readings["position"]) == {"C1", "C2"}
    both = pl.concat([f.records["readings"] for f in fleets]).join(
        pl.concat([f.units for f in fleets]), on="unit"
    )
    wear = (both["date_earliest"].cast(pl.Int32) - both["start_1"]) / both["scale_1"]
    said = both.with_columns(wear=wear, log=(pl.col("esr_ohm") / NEW_OHM).log())
    line, spread = np.polyfit(said["wear"].to_numpy(), said["log"].to_numpy(), 1, cov=True)
    errors = np.sqrt(np.diag(spread))
    assert (errors < 0.05).all()
    assert (np.abs(line - [RISE, 0.0]) < 4.0 * errors).all()


def test_vague_enrolments_hold_the_true_day(fleets_of):
    units = pl.concat([f.records["units"] for f in fleets_of("vague_enrolment", failures=20)])
    vague = units.filter(pl.col("enrolled_on").str.len_chars() == 4)
    assert abs(vague.height / units.height - 0.4) < 4 * 0.5 / np.sqrt(units.height)
    # It was entered on the very day, which ends the range.
    assert (vague["enrolled_on_latest"] == vague["entered_on"]).all()
    assert (vague["enrolled_on_earliest"].dt.ordinal_day() == 1).all()
    assert (vague["enrolled_on"].cast(pl.Int32) == vague["entered_on"].dt.year()).all()


def test_records_that_disagree_are_kept_out_and_not_listed(fleets_of):
    fleets = fleets_of("contradictory", failures=20)
    built = build_lives(join_records(fleets), as_of=AS_OF)
    units = pl.concat([fleet.units for fleet in fleets])
    reports = join_records(fleets)["reports"]
    twice = join_records(fleets)["units"].filter(pl.col("unit").is_duplicated())["unit"]
    wrong = set(twice) | set(reports.filter(pl.col("kind") == "retired")["unit"])
    assert 0.02 < len(wrong) / units.height < 0.2
    assert twice.n_unique() > 0
    assert len(wrong) > twice.n_unique()  # some of each kind
    assert wrong <= set(built.left_out["unit"])
    assert not wrong & {*built.lives["unit"], *built.working["unit"]}
    listed = units.filter("thought_to_work")["unit"].sort().to_list()
    assert listed == built.working["unit"].sort().to_list()
