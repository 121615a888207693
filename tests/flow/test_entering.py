from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput, Conflict, NotKnown
from fleet.flow.answers import lives
from fleet.flow.copies import export_store
from fleet.flow.due import due
from fleet.flow.entered_readings import odd_ahead
from fleet.flow.entering import (
    add_record,
    amend_record,
    create_store,
    log_reports,
    take_back,
)
from fleet.flow.importing import import_files, undo_import
from fleet.store import history, known

TODAY = date(2026, 6, 30)
UNIT = {
    "unit": "U1",
    "model": "BZ62",
    "manufactured": "1998-07-14",
    "enrolled_on": "2020-01-01",
    "enrolled_because": "working",
}


@pytest.fixture
def store(tmp_path):
    path = tmp_path / "fleet.duckdb"
    create_store(path)
    add_record(path, "units", UNIT, today=TODAY, by="ann")
    return path


def _log(store, kind, on, **fields):
    anyway = fields.pop("anyway", False)
    return log_reports(
        store, kind, ["U1"], {"date": on, **fields}, today=TODAY, by="ann", anyway=anyway
    )


def test_a_report_is_kept_with_who_and_when(store):
    (record,) = _log(store, "failed", "2024-05", cause="capacitor").records
    row = known(store, ["reports"])["reports"].row(0, named=True)
    assert row["record"] == record
    assert row["by"] == "ann"
    assert row["entered_on"] == TODAY
    assert row["date_earliest"] == date(2024, 5, 1)
    assert row["date_latest"] == date(2024, 5, 31)


def test_the_same_report_twice_is_known_already(store):
    first = _log(store, "failed", "2024-05", cause="capacitor")
    second = _log(store, "failed", "2024-05", cause="capacitor")
    assert second.records == ()
    assert second.already_known == first.records
    assert known(store, ["reports"])["reports"].height == 1


def test_a_unit_nobody_knows_stops_the_whole_roll_call(store):
    with pytest.raises(NotKnown, match="U2"):
        log_reports(store, "working", ["U1", "U2"], {"date": "2024-05-01"}, today=TODAY, by=None)
    assert known(store, ["reports"])["reports"].is_empty()


@pytest.mark.parametrize(
    ("kind", "on", "words"),
    [("failed", "1997", "before it was made"), ("failed", "1998-07-13", "before it was made")],
)
def test_before_it_was_made_is_a_conflict(store, kind, on, words):
    with pytest.raises(Conflict, match=words):
        _log(store, kind, on)
    assert known(store, ["reports"])["reports"].is_empty()


def test_working_after_retired_is_a_conflict_unless_kept_on_purpose(store):
    _log(store, "retired", "2024-05-01")
    with pytest.raises(Conflict, match="retired on 2024-05-01"):
        _log(store, "working", "2025-01-01")
    kept = _log(store, "working", "2025-01-01", anyway=True)
    assert len(kept.records) == 1
    table = lives(store, as_of=TODAY)
    assert table.lives.is_empty()
    assert table.left_out["unit"].to_list() == ["U1"]
    assert kept.records[0] in table.left_out["reason"][0]


def test_a_future_date_is_refused(store):
    with pytest.raises(BadInput, match="2031"):
        _log(store, "working", "2031-01-01")
    assert known(store, ["reports"])["reports"].is_empty()


def test_an_amended_record_keeps_its_past(store):
    (record,) = _log(store, "failed", "2024-05", cause="unknown").records
    later = date(2026, 7, 10)
    (new,) = amend_record(store, record, {"cause": "other"}, today=later, by="bo").records
    now = known(store, ["reports"])["reports"]
    assert now["record"].to_list() == [new]
    assert now["cause"].to_list() == ["other"]
    then = known(store, ["reports"], as_of=TODAY)["reports"]
    assert then["cause"].to_list() == ["unknown"]
    with pytest.raises(BadInput, match="colour"):
        amend_record(store, new, {"colour": "blue"}, today=later, by=None)


def test_a_report_taken_back_is_gone_and_can_come_again(store):
    entered = _log(store, "failed", "2024-05", cause="capacitor")
    assert take_back(store, entered.records, today=TODAY, by="ann") == 1
    assert known(store, ["reports"])["reports"].is_empty()
    again = _log(store, "failed", "2024-05", cause="capacitor")
    assert len(again.records) == 1
    assert known(store, ["reports"])["reports"].height == 1


def test_a_name_taken_is_a_conflict_that_says_how_to_amend(store):
    with pytest.raises(Conflict, match="fleet amend"):
        add_record(store, "units", {**UNIT, "model": "DQ31"}, today=TODAY, by=None)


def test_export_and_import_lose_nothing(demo_store, tmp_path):
    first = tmp_path / "first"
    export_store(demo_store, first, today=TODAY)
    copy = tmp_path / "copy.duckdb"
    create_store(copy)
    import_files(copy, [first], today=TODAY, by=None)
    for kind in ("units", "reports", "readings", "models", "withdrawn"):
        ours = history(demo_store, kind).drop("file", "line", "import_id")
        theirs = history(copy, kind).drop("file", "line", "import_id")
        assert ours.sort("record").equals(theirs.sort("record")), kind
    before = lives(demo_store, as_of=TODAY).lives
    assert before.equals(lives(copy, as_of=TODAY).lives)


def test_undo_then_import_again_is_as_before(demo_store, tmp_path):
    from fleet.flow.places import demo_folder

    store = tmp_path / "again.duckdb"
    create_store(store)
    done = import_files(store, [demo_folder()], today=TODAY, by=None)
    before = lives(store, as_of=TODAY).lives.drop("reports")
    assert before.height > 200
    taken = undo_import(store, done.import_id, today=TODAY, by=None)
    assert taken == done.counts["kept"].sum()
    assert lives(store, as_of=TODAY).lives.is_empty()
    import_files(store, [demo_folder()], today=TODAY, by=None)
    after = lives(store, as_of=TODAY).lives.drop("reports")
    key = ["unit", "set_no", "low", "count", pl.col("high").is_null()]
    assert before.sort(key).equals(after.sort(key))


def test_an_offer_that_contradicts_another_of_the_part_is_refused(store):
    first = {"part": "P1", "capacitance": "470uF", "voltage": "35", "supplier": "A"}
    other = {"part": "P1", "capacitance": "4700uF", "voltage": "10", "supplier": "B"}
    same = {"part": "P1", "capacitance": "0.47mF", "supplier": "C"}
    add_record(store, "offers", first, today=TODAY, by=None)
    with pytest.raises(BadInput, match=r"contradict each other .*voltage 35 V and 10 V"):
        add_record(store, "offers", other, today=TODAY, by=None)
    add_record(store, "offers", same, today=TODAY, by=None)
    assert known(store, ["offers"])["offers"].height == 2


def test_places_on_no_record_are_said_where_the_model_is_described(store):
    report = {"date": "2024-01", "positions": "C99"}
    reading = {"position": "C98", "esr_ohm": "1"}

    def noted(fields, readings=()):
        return " ".join(
            log_reports(
                store, "recapped", ["U1"], fields, readings=readings, today=TODAY, by=None
            ).notes
        )

    assert "C99" not in noted(report)  # nobody described the model
    place = {"model": "BZ62", "position": "C1"}
    add_record(store, "positions", place, today=TODAY, by=None)
    assert "BZ62 has no position C99 on record (there are C1)" in noted({**report, "date": "2025"})
    both = noted({"date": "2026", "positions": "C1"}, [reading])
    assert "no position C98" in both
    assert "no position" not in noted({"date": "2026-02", "positions": "all"})


def test_odd_readings_are_known_before_they_are_saved(store):
    place = {"model": "BZ62", "position": "C1", "esr_ohm": "0.5"}
    add_record(store, "positions", place, today=TODAY, by=None)
    slipped = {"position": "C1", "stage": "before", "esr_ohm": "1800"}
    elsewhere = {"position": "C99", "stage": "before", "esr_ohm": "2"}
    odd = odd_ahead(store, "U1", [slipped, elsewhere], today=TODAY)
    assert len(odd) == 2
    assert "C1 before: 1800 ohm, where a fresh part reads about 0.5 ohm" in odd[0]
    assert "BZ62 has no position C99" in odd[1]
    done = log_reports(
        store, "repaired", ["U1"], {"date": "2024-01"}, readings=[slipped, elsewhere],
        today=TODAY, by=None,
    )  # fmt: skip
    assert set(odd) <= set(done.notes)
    dried_out = {**slipped, "esr_ohm": "40"}
    assert odd_ahead(store, "U1", [dried_out], today=TODAY) == ()


def test_a_step_for_a_unit_or_place_on_no_record_is_said(store):
    add_record(store, "positions", {"model": "BZ62", "position": "C1"}, today=TODAY, by=None)
    step = {"model": "BZ62", "moment": "position", "text": "Mind the plug"}
    with pytest.raises(BadInput, match="which position is not said"):
        add_record(store, "steps", step, today=TODAY, by=None)
    done = add_record(
        store, "steps", {**step, "position": "C99", "unit": "NOUNIT"}, today=TODAY, by=None
    )
    assert "there is no unit NOUNIT on record" in " ".join(done.notes)
    assert "BZ62 has no position C99" in " ".join(done.notes)
    good = add_record(
        store, "steps", {**step, "position": "c1", "unit": "U1"}, today=TODAY, by=None
    )
    assert not any("no position" in note or "no unit" in note for note in good.notes)


def test_a_second_row_of_the_shop_says_which_counts(store):
    first = add_record(store, "shop", {"labour_rate": "20"}, today=TODAY, by=None)
    assert first.notes == ()
    second = add_record(store, "shop", {"labour_rate": "30"}, today=TODAY, by=None)
    assert f"(record {first.records[0]}): of each column the last entered counts" in second.notes[0]


def test_a_unit_whose_name_all_but_exists_is_refused(store):
    with pytest.raises(Conflict, match="U1"):
        add_record(store, "units", {**UNIT, "unit": "u-1"}, today=TODAY, by=None)


def test_a_store_without_any_batch_has_a_due_list(store):
    for n in range(2, 12):
        fields = {**UNIT, "unit": f"U{n}", "manufactured": f"{1990 + n}-03-01"}
        add_record(store, "units", fields, today=TODAY, by=None)
        kind, cause = ("failed", "capacitor") if n < 7 else ("working", "")
        log_reports(
            store,
            kind,
            [f"U{n}"],
            {"date": f"{2020 + n % 5}-05-01", "cause": cause},
            today=TODAY,
            by=None,
        )
    frame = due(store, as_of=TODAY, planned_cost=30, failure_cost=120).frame
    assert set(frame["unit"]) == {"U1", *(f"U{n}" for n in range(7, 12))}
    assert frame["p_fail"].null_count() == 0
