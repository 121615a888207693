"""One machine's history, lives, readings and contradictions, worked by hand."""

import shutil
from datetime import date

import polars as pl
import pytest

from fleet.errors import NotKnown
from fleet.flow.entering import add_record, amend_record, create_store, log_reports, take_back
from fleet.flow.machine_list import history_lines
from fleet.flow.one_machine import find_unit, one_machine
from fleet.store import unit_history

TODAY = date(2026, 6, 30)
# Built some time in 1998, known since 2010, failed in 2015, recapped, working since.
MACHINE = {
    "unit": "U1",
    "model": "BM",
    "serial": "X-77",
    "manufactured": "1998",
    "batch": "LX-9803",
    "enrolled_on": "2010-03-01",
    "enrolled_because": "working",
}
TOLD = (
    ("working", "2011-05-02", {}),
    ("working", "2013-05-02", {}),
    ("failed", "2015-06-10", {"cause": "capacitor", "positions": "C7"}),
    ("recapped", "2015-07-01", {"because": "failure", "batch": "NW-1510"}),
    ("working", "2020-05-02", {}),
)


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    path = tmp_path_factory.mktemp("told") / "fleet.duckdb"
    create_store(path)
    add_record(path, "units", MACHINE, today=TODAY, by="ann")
    add_record(
        path,
        "positions",
        {"model": "BM", "position": "C7", "capacitance": "1000uF", "esr_ohm": "0.05"},
        today=TODAY,
        by=None,
    )
    for kind, on, fields in TOLD:
        log_reports(path, kind, ["U1"], {"date": on, **fields}, today=TODAY, by="ann")
    return path


@pytest.fixture
def store(told, tmp_path):
    """A copy of one's own of the store in which the machine was told of."""
    path = tmp_path / "fleet.duckdb"
    shutil.copy(told, path)
    return path


def log(store, kind, on, **fields):
    anyway = fields.pop("anyway", False)
    return log_reports(
        store, kind, ["U1"], {"date": on, **fields}, today=TODAY, by="bo", anyway=anyway
    ).records[0]


def events(store, as_of=TODAY):
    return one_machine(store, "U1", as_of=as_of).events


def test_the_history_runs_from_birth_to_now(store):
    found = events(store)
    assert list(zip(found["what"], found["on"], strict=True)) == [
        ("built", "1998"),
        ("enrolled", "2010-03-01"),
        ("working", "2011-05-02"),
        ("working", "2013-05-02"),
        ("failed", "2015-06-10"),
        ("recapped", "2015-07-01"),
        ("working", "2020-05-02"),
    ]
    assert set(found["standing"]) == {"counts"}
    assert found.filter(what="failed")["said"][0] == "a capacitor; positions C7"


def test_a_build_date_nobody_told_still_comes_first(store):
    record = events(store).filter(what="built")["record"][0]
    amend_record(store, record, {"manufactured": ""}, today=TODAY, by=None)
    first = events(store).row(0, named=True)
    assert (first["what"], first["on"], first["latest"]) == ("built", "not told", None)


def test_a_correction_stands_beside_what_it_corrected(store):
    record = events(store).filter(what="failed")["record"][0]
    new = amend_record(
        store, record, {"cause": "other", "notes": "a switch"}, today=TODAY, by="bo"
    ).records[0]
    failed = events(store).filter(what="failed")
    told = {row["record"]: row for row in failed.iter_rows(named=True)}
    assert told[record]["standing"] == "corrected"
    assert told[new]["standing"] == "counts"
    assert told[new]["corrects"] == record
    assert told[new]["changed"] == "cause: capacitor → other; notes: blank → a switch"


def test_what_was_taken_back_is_shown_as_such(store):
    record = log(store, "stored", "2021-01-01")
    take_back(store, [record], today=TODAY, by="bo")
    assert events(store).filter(what="stored")["standing"].to_list() == ["taken back"]


def test_corrections_of_the_machine_itself_are_events(store):
    record = events(store).filter(what="built")["record"][0]
    amend_record(store, record, {"batch": "LX-9804"}, today=TODAY, by="bo")
    details = events(store).filter(what="details").sort("standing")
    assert details["standing"].to_list() == ["corrected", "counts"]
    assert details["changed"].to_list() == [None, "batch: LX-9803 → LX-9804"]


def test_an_earlier_day_knows_less(store):
    seen = one_machine(store, "U1", as_of=date(2026, 7, 5)).events.height
    amend_record(
        store,
        events(store).filter(what="failed")["record"][0],
        {"cause": "other"},
        today=date(2026, 7, 20),
        by=None,
    )
    before = one_machine(store, "U1", as_of=date(2026, 7, 5)).events
    assert before.height == seen
    assert set(before["standing"]) == {"counts"}
    with pytest.raises(NotKnown, match="as known on 2009-01-01"):
        one_machine(store, "U1", as_of=date(2009, 1, 1))


def test_readings_of_a_day_are_one_event_before_and_one_after_the_work(store):
    log_reports(
        store, "recapped", ["U1"], {"date": "2021-02-03", "because": "planned", "positions": "all"},
        readings=[
            {"position": "C7", "stage": "after", "esr_ohm": "0.04"},
            {"position": "C7", "stage": "before", "esr_ohm": "0.3", "capacitance": "610uF"},
        ],
        today=TODAY, by=None,
    )  # fmt: skip
    day = events(store).filter(on="2021-02-03")
    assert day["what"].to_list() == ["readings", "recapped", "readings"]
    assert day["said"][0] == "before the work: C7 ESR 0.3 Ω, 610uF"
    assert day["said"][2] == "after the work: C7 ESR 0.04 Ω"


def test_readings_against_their_limits(store):
    # Twice the fresh 0.05 ohm passes; of 1000 uF a fifth may be lost (METHODS: readings).
    readings = [
        {"position": "C7", "stage": "before", "esr_ohm": "0.3", "capacitance": "600uF"},
        {"position": "C7", "stage": "after", "esr_ohm": "0.04", "capacitance": "1000uF"},
        {"position": "hours", "stage": "check", "capacitance": "5120"},
    ]
    log_reports(
        store, "recapped", ["U1"],
        {"date": "2021-02-03", "because": "planned", "positions": "all"},
        readings=readings, today=TODAY, by=None,
    )  # fmt: skip
    found = one_machine(store, "U1", as_of=TODAY)
    rows = found.readings.rows(named=True)
    assert [row["stage"] for row in rows] == ["before", "after"]
    assert rows[0]["esr_limit"] == pytest.approx(0.1)
    assert rows[0]["esr_share"] == pytest.approx(3.0)
    assert rows[0]["farads_share"] == pytest.approx(600 / 800)
    assert [row["verdict"] for row in rows] == ["bad", "good"]
    assert found.readings_said == (
        "2 readings at 1 position.",
        "None was beyond its limit when last measured.",
    )


def test_lives_by_hand(store):
    found = one_machine(store, "U1", as_of=TODAY)
    assert found.stretches.select("set_no", "stretch", "from", "to").rows() == [
        (1, "may have begun", date(1998, 1, 1), date(1998, 12, 31)),
        (1, "before it was watched", date(1998, 12, 31), date(2010, 3, 1)),
        (1, "watched, working", date(2010, 3, 1), date(2013, 5, 2)),
        (1, "not heard of", date(2013, 5, 2), date(2015, 6, 10)),
        (1, "failed, not running", date(2015, 6, 10), date(2015, 7, 1)),
        (2, "watched, working", date(2015, 7, 1), date(2020, 5, 2)),
        (2, "not heard of", date(2020, 5, 2), TODAY),
    ]
    assert found.marks.select("what", "on").rows() == [
        ("failed: a capacitor", date(2015, 6, 10)),
        ("capacitors replaced", date(2015, 7, 1)),
        ("last known working", date(2020, 5, 2)),
    ]
    assert found.said == (
        "U1 has had 2 sets of capacitors, as known on 30 June 2026.",
        "Set 1, original (LX-9803): new some time in 1998; watched from 1 March 2010; failed by a "
        "capacitor, 10 June 2015; last known working 2 May 2013; replaced 1 July 2015.",
        "Set 2, replaced (NW-1510): fitted 1 July 2015; last known working 2 May 2020.",
    )


def test_a_failure_found_afterwards_covers_the_days_it_may_have_been(store):
    log(store, "failed", "2024-08-01", found_dead="yes", cause="capacitor")
    marks = one_machine(store, "U1", as_of=TODAY).marks
    row = marks.filter(set_no=2, what="failed: a capacitor").row(0, named=True)
    assert (row["low"], row["high"]) == (date(2020, 5, 2), date(2024, 8, 1))


def test_known_only_by_failing_was_never_watched(tmp_path):
    path = tmp_path / "fleet.duckdb"
    create_store(path)
    machine = {**MACHINE, "enrolled_on": "2015-06-10", "enrolled_because": "failed"}
    add_record(path, "units", machine, today=TODAY, by=None)
    log_reports(path, "failed", ["U1"], {"date": "2015-06-10", "cause": "capacitor"},
                today=TODAY, by=None)  # fmt: skip
    found = one_machine(path, "U1", as_of=TODAY)
    assert found.sets["watched_from"].to_list() == [None]
    assert "nobody watched it while it worked" in found.said[1]
    assert set(found.stretches["stretch"]) == {
        "may have begun", "before it was watched", "failed, not running",
    }  # fmt: skip
    assert found.not_due.startswith("It failed and has not been seen working since")


def test_a_start_nobody_knows_is_marked_and_said(tmp_path):
    path = tmp_path / "fleet.duckdb"
    create_store(path)
    machine = {"unit": "U1", "model": "BM", "enrolled_on": "2010-03-01",
               "enrolled_because": "working"}  # fmt: skip
    add_record(path, "units", machine, today=TODAY, by=None)
    log_reports(path, "working", ["U1"], {"date": "2012-01-01"}, today=TODAY, by=None)
    found = one_machine(path, "U1", as_of=TODAY)
    assert found.marks["what"].to_list() == ["start not known", "last known working"]
    assert "nothing tells when it was new" in found.said[1]
    assert found.not_due.startswith("It is not on the due list: nothing says after which day")


def test_contradictions_show_both_versions_and_how_to_settle_them(store):
    gone = log(store, "retired", "2016-01-01", anyway=True)
    found = one_machine(store, "U1", as_of=TODAY)
    (wrong,) = found.disagreements
    assert wrong.what == "contradicts"
    assert gone in wrong.records
    assert len(wrong.records) == 2
    date_row = wrong.versions.filter(field="date").row(0, named=True)
    assert date_row["differs"]
    assert {date_row[record] for record in wrong.records} == {"2016-01-01", "2020-05-02"}
    assert wrong.commands.count("fleet amend ") == 2
    flagged = found.events.filter(standing="contradicts")["record"]
    assert set(flagged) == set(wrong.records)
    assert found.sets.is_empty()
    assert found.stretches.is_empty()
    assert found.not_due == "It is not on the due list until its records agree."
    amend_record(store, gone, {"date": "2021-01-01"}, today=TODAY, by=None)
    settled = one_machine(store, "U1", as_of=TODAY)
    assert settled.disagreements == ()
    assert settled.sets["ended_by"].to_list() == ["recapped", "retired"]


def test_one_failure_told_by_two_people_is_shown(store):
    second = log(store, "failed", "2015-06-20", cause="capacitor")
    (wrong,) = one_machine(store, "U1", as_of=TODAY).disagreements
    assert wrong.what == "told twice"
    assert second in wrong.records
    assert "10 days apart" in wrong.reason


def test_repeated_sightings_are_one_line_of_the_list(store):
    lines = history_lines(events(store))
    assert lines.select("when", "what", "events").rows()[2:] == [
        ("2011-05-02 to 2013-05-02", "working", 2),
        ("2015-06-10", "failed", 1),
        ("2015-07-01", "recapped", 1),
        ("2020-05-02", "working", 1),
    ]
    assert lines["events"].sum() == events(store).height


def test_no_record_that_says_more_is_lost_in_a_line(store):
    log(store, "working", "2012-05-02", notes="rattles")
    lines = history_lines(events(store))
    assert lines.filter(what="working")["events"].to_list() == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("asked", "found"),
    [("U1", "U1"), ("u1", "U1"), ("x-7", "U1"), ("lx", "LX-2"), ("LX-2", "LX-2")],
)
def test_a_machine_is_found_by_part_of_its_name_or_serial(asked, found):
    units = pl.DataFrame({"unit": ["U1", "LX-2", "U10"], "serial": ["X-77", None, None]})
    assert find_unit(units, asked) == found


@pytest.mark.parametrize(
    ("asked", "said"),
    [("U", "2 units have U"), ("LX-3", "did you mean LX-2"), ("zz", "no unit has zz")],
)
def test_what_fits_none_or_several_is_said(asked, said):
    units = pl.DataFrame({"unit": ["U1", "LX-2", "U10"], "serial": ["X-77", None, None]})
    with pytest.raises(NotKnown, match=said):
        find_unit(units, asked)


def test_only_kinds_about_a_unit_have_its_history(store):
    with pytest.raises(NotKnown, match="models records are about no unit"):
        unit_history(store, "U1", ["models"])


def test_every_machine_of_the_demo_can_be_told(demo_store):
    """Every stretch and mark of every machine lies within its row, and no sentence says nan."""
    from fleet.flow.known import known_records
    from fleet.flow.machine_lives import MARKS, STRETCHES, lay_out, lives_words
    from fleet.flow.one_machine import READ
    from fleet.lives.unit_sets import build_unit_sets

    as_of = date(2026, 6, 30)
    known = known_records(demo_store, READ, as_of=as_of)
    found = build_unit_sets(known, as_of=as_of)
    assert found.disagree["unit"].to_list() == ["S-010"]
    for (unit,), sets in found.sets.group_by("unit"):
        failures = found.failures.filter(unit=unit)
        stretches, marks = lay_out(sets, failures, as_of=as_of)
        assert stretches.schema == STRETCHES
        assert marks.schema == MARKS
        assert (stretches["from"] < stretches["to"]).all()
        assert (stretches["to"] <= as_of).all()
        assert (marks["low"] <= marks["high"]).all()
        said = " ".join(lives_words(str(unit), sets, failures, as_of=as_of))
        assert "None" not in said


def test_a_set_ends_within_the_days_on_which_the_next_was_fitted():
    from fleet.flow.machine_lives import lay_out, lives_words
    from fleet.lives.unit_sets import UNIT_FAILURES, UNIT_SETS

    sets = pl.DataFrame(
        [
            ("U", 1, "original", date(2001, 1, 1), date(2001, 12, 31), date(2014, 1, 1),
             "recapped"),
            ("U", 2, "replaced_known", date(2014, 1, 1), date(2014, 12, 31), date(2020, 5, 1),
             "retired"),
        ],
        schema=["unit", "set_no", "parts", "started_earliest", "started_latest", "ended_on",
                "ended_by"],
        orient="row",
    ).with_columns(failed=pl.lit(False), in_vain=pl.lit(False))  # fmt: skip
    sets = sets.select(
        pl.col(name).cast(dtype) if name in sets.columns else pl.lit(None, dtype).alias(name)
        for name, dtype in UNIT_SETS.items()
    )
    failures = UNIT_FAILURES.to_frame()
    _, marks = lay_out(sets, failures, as_of=date(2026, 1, 1))
    assert marks.filter(pl.col("what") != "start not known").select(
        "set_no", "what", "low", "high"
    ).rows() == [
        (1, "capacitors replaced", date(2014, 1, 1), date(2014, 12, 31)),
        (2, "retired", date(2020, 5, 1), date(2020, 5, 1)),
    ]
    said = lives_words("U", sets, failures, as_of=date(2026, 1, 1))
    assert said[1].endswith("nobody watched it while it worked; replaced some time in 2014.")
    assert said[2].endswith("retired 1 May 2020.")


def test_the_mark_of_a_due_date_has_its_limits_cut_where_the_drawing_ends(demo_store):
    from fleet.flow.due import due
    from fleet.flow.due_when import day_reached
    from fleet.flow.machine_lives import MARKS, due_mark
    from fleet.flow.one_machine import one_machine

    as_of = date(2026, 6, 30)
    listed = due(demo_store, as_of=as_of).frame
    ahead = listed.filter(action="recap_when_due").row(0, named=True)
    late = listed.filter(action="recap_now").row(0, named=True)
    never = listed.filter(action="leave").row(0, named=True)
    for row in (ahead, late, never):
        sets = one_machine(demo_store, row["unit"], as_of=as_of).sets
        mark = due_mark(sets, row, as_of=as_of, most_years=2)
        assert mark.schema == MARKS
        if row is never:
            assert mark.is_empty()
            continue
        on = day_reached(row)
        assert mark["on"].to_list() == [on]
        assert mark["low"][0] <= on <= mark["high"][0] <= date(2028, 6, 30)
        assert row is ahead or mark["high"][0] == on < as_of
