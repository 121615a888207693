"""Two people entering about one machine: the second is shown what the first saved."""

from datetime import date

import pytest

from fleet.errors import NotKnown
from fleet.flow.clashes import Clash, tell
from fleet.flow.entering import add_record, amend_record, create_store, log_reports
from fleet.flow.known import known_records

TODAY = date(2026, 6, 30)


@pytest.fixture
def store(tmp_path):
    path = tmp_path / "s.duckdb"
    create_store(path)
    for kind, row in (
        ("models", {"model": "M"}),
        ("units", {"unit": "A-1", "model": "M", "manufactured": "2000"}),
    ):
        add_record(path, kind, row, today=TODAY, by=None)
    return path


def log(store, kind, day, **more):
    how = {name: more.pop(name) for name in ("by", "seen", "anyway") if name in more}
    return log_reports(
        store, kind, ["A-1"], {"date": day, **more}, today=TODAY, **{"by": None, **how}
    ).records


def reports(store):
    return known_records(store, ("reports",), as_of=None)["reports"]


def test_what_was_saved_meanwhile_is_told_and_nothing_is_written(store):
    theirs = log(store, "failed", "2026-05", by="Ada", symptom="hums")[0]
    with pytest.raises(Clash, match="reported failed on 2026-05 by Ada") as caught:
        log(store, "failed", "2026-05-03", by="Bo", seen=[])
    told = caught.value.against[0]
    assert caught.value.meanwhile
    assert (told.record, told.by, told.columns["symptom"]) == (theirs, "Ada", "hums")
    assert reports(store).height == 1


def test_who_has_seen_it_may_save(store):
    theirs = log(store, "failed", "2026-05", by="Ada")
    assert log(store, "failed", "2026-05-03", by="Bo", seen=theirs)
    assert reports(store).height == 2


def test_the_same_report_by_both_is_no_clash(store):
    log(store, "failed", "2026-05-03", by="Ada")
    assert log(store, "failed", "2026-05-03", by="Ada", seen=[]) == ()
    assert reports(store).height == 1


def test_a_contradiction_names_the_record_on_the_other_side(store):
    gone = log(store, "retired", "2020", by="Ada")[0]
    with pytest.raises(Clash, match="but retired on 2020") as caught:
        log(store, "working", "2026-05-03", by="Bo")
    assert not caught.value.meanwhile
    assert [told.record for told in caught.value.against] == [gone]
    assert log(store, "working", "2026-05-03", by="Bo", anyway=True)


def test_before_it_was_made_names_the_machine(store):
    with pytest.raises(Clash, match="before it was made") as caught:
        log(store, "working", "1990")
    told = caught.value.against[0]
    assert (told.kind, told.columns["manufactured"]) == ("units", "2000")


def test_the_second_correction_is_shown_the_first(store):
    first = log(store, "failed", "2026-05", by="Cy", symptom="dead")[0]
    amend_record(store, first, {"symptom": "dark"}, today=TODAY, by="Ada")
    with pytest.raises(Clash, match="was corrected meanwhile by Ada") as caught:
        amend_record(store, first, {"positions": "C3"}, today=TODAY, by="Bo")
    theirs = caught.value.against[0]
    assert theirs.columns["symptom"] == "dark"
    amend_record(store, theirs.record, {"positions": "C3"}, today=TODAY, by="Bo")
    assert reports(store).select("symptom", "positions", "by").rows() == [("dark", "C3", "Bo")]


def test_no_such_record(store):
    with pytest.raises(NotKnown):
        tell(store, "r-nothing")
