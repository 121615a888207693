"""fleet check."""

import re
import shlex

import pytest

from fleet.flow.caution import CAUTION


def test_each_finding_has_advice(club, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-600,BM-2\n")
    club("import", tmp_path / "units.csv")
    rows = club("check", "--json").rows()
    assert rows
    assert all(row.keys() >= {"subject", "finding", "count", "advice"} for row in rows)
    assert all(row["advice"] for row in rows)


def test_ranked_by_effect(club):
    rows = club("check", "--json", "--as-of", "2026-06-30").rows()
    assert [row["rank"] for row in rows] == list(range(1, len(rows) + 1))
    effects = [row["effect"] for row in rows]
    measured = [e for e in effects if e is not None]
    assert measured == sorted(measured, reverse=True)
    slight = [row for row in rows if row["effect"] is not None and row["effect"] < 0.005]
    assert slight == rows[len(rows) - len(slight) :]
    for row in slight:
        assert row["advice"].startswith(("hardly changes the answer", "nothing to do"))


def test_what_is_pasted_invites_no_answer(told_twice, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-600,BM-2\n")
    (tmp_path / "more.csv").write_text("unit,date,kind,source\nTL-017,2025-06-01,failed,club\n")
    told_twice("import", tmp_path / "units.csv")
    told_twice("import", "--as", "reports", tmp_path / "more.csv")
    done = told_twice("check", "--json", "--as-of", "2025-12-31")
    advice = " ".join(row["advice"] for row in done.rows())
    assert "--set cause=CAUSE, where CAUSE is capacitor or other" in advice
    assert not re.search(r"--set manufactured=\d", advice)
    assert "the rating plate first" in advice
    assert CAUTION in done.err


def test_a_failure_told_twice_is_asked_for_once(club, tmp_path):
    """Bo told on the 12th what Ada told on the 3rd: neither says the cause."""
    before = _findings(club)
    (tmp_path / "reports.csv").write_text(
        "unit,date,kind,by,source\nTL-015,2025-05-03,failed,Ada,club\n"
        "TL-015,2025-05-10,recapped,Ada,club\nTL-015,2025-05-12,failed,Bo,club\n"
    )
    assert club("import", tmp_path / "reports.csv", "--strict").code == 0
    told = club("check", "--show", "told-twice", "--json").rows()
    assert [pair["counted_once"] for pair in told] == [True]
    row = _findings(club)
    assert row["count"] == (before["count"] if before else 0) + 1
    assert told[0]["first"] in row["advice"]
    assert told[0]["second"] not in row["advice"]
    sources = club("check", "--show", "sources", "--json", "--as-of", "2025-12-31").rows()
    assert sum(source["failures"] for source in sources) == int(row["finding"].split()[-1])


def _findings(run):
    rows = run("check", "--json", "--as-of", "2025-12-31").rows()
    return next((row for row in rows if row["finding"].startswith("cause unknown")), None)


def test_the_next_thing_to_ask_is_said_and_names_units(club):
    """All sixteen that work were last seen two years before."""
    done = club("check", "--as-of", "2026-12-31")
    asked = re.search(
        r"Ask next .*?: check in 12 of the 16 units first: fleet log working (.*?) --on", done.err
    )
    assert asked, done.err
    units = asked[1].split()
    assert len(set(units)) == 12
    assert club("log", "working", *units, "--on", "2024-07-02").code == 0


def test_the_caution_is_printed_with_the_due_list_too(club):
    assert CAUTION in " ".join(club("due", "--as-of", "2024-06-30").err.split())


def test_costs_missing_come_first(club):
    club("add", "model", "--model", "NEW-1")
    rows = club("check", "--json").rows()
    assert rows[0]["finding"] == "no costs: no recap can be weighed"


@pytest.fixture
def told_twice(club, tmp_path):
    (tmp_path / "reports.csv").write_text(
        "unit,date,kind,cause,because,by,source\n"
        "TL-015,2025-05-03,failed,capacitor,,Ada,club\n"
        "TL-015,2025-05-10,recapped,,failure,Ada,club\n"
        "TL-015,2025-05-12,failed,capacitor,,Bo,club\n"
        "TL-016,2025-05-03,failed,capacitor,,Ada,club\n"
        "TL-016,2025-05-10,recapped,,failure,Ada,club\n"
        "TL-016,2025-05-12,failed,capacitor,,Bo,club\n"
        "TL-016,2025-05-14,recapped,,failure,Bo,club\n"
    )
    assert club("import", tmp_path / "reports.csv", "--strict").code == 0
    return club


def _failures(run, unit):
    rows = run("lives", "--json").rows()
    return sum(row["unit"] == unit and row["end"] == "failed" for row in rows)


def test_told_twice_counts_once_where_sure_and_is_offered(told_twice):
    assert _failures(told_twice, "TL-015") == 1
    assert _failures(told_twice, "TL-016") == 2
    rows = told_twice("check", "--json", "--as-of", "2025-12-31").rows()
    offered = next(r for r in rows if r["finding"].startswith("perhaps one event"))
    assert offered["subject"] == "TL-016"
    commands = re.findall(r"fleet (amend \S+ --set date=[^\s;]+)", offered["advice"])
    for command in commands:
        done = told_twice(*shlex.split(command))
        assert done.code == 0, done.err
    shown = told_twice("check", "--show", "told-twice", "--json").rows()
    assert all(pair["counted_once"] for pair in shown)
    assert _failures(told_twice, "TL-016") == 1


def test_one_machine_under_two_names_is_offered_only(club, tmp_path):
    (tmp_path / "units.csv").write_text(
        "unit,model,serial,manufactured,enrolled_on,enrolled_because,source\n"
        "P-1,BM-2,77-A,2001,2011-01-01,working,club\nP-2,BM-2,77 a,2001,2012-01-01,working,club\n"
    )
    (tmp_path / "reports.csv").write_text(
        "unit,date,kind,cause,by\nP-1,2014-03-01,failed,capacitor,Ada\n"
        "P-2,2014-03-04,failed,capacitor,Bo\n"
    )
    club("import", tmp_path / "units.csv", tmp_path / "reports.csv")
    rows = club("check", "--json").rows()
    found = next(r for r in rows if "2 names" in r["finding"])
    assert found["subject"] == "P-1, P-2"
    assert "keep P-1: fleet amend" in found["advice"]
    assert _failures(club, "P-2") == 1


@pytest.mark.parametrize(
    ("show", "column"),
    [
        ("causes", "unknown_cause"),
        ("one-sided", "naive_b10"),
        ("sources", "seen_within_year"),
        ("pooling", "sentence"),
        ("told-twice", "counted_once"),
    ],
)
def test_other_tables(told_twice, tmp_path, show, column):
    (tmp_path / "more.csv").write_text("unit,date,kind,source\nTL-017,2025-06-01,failed,club\n")
    told_twice("import", "--as", "reports", tmp_path / "more.csv")
    rows = told_twice("check", "--show", show, "--json", "--as-of", "2025-12-31").rows()
    assert rows
    assert all(column in row for row in rows)
    assert told_twice("check", "--show", show, "--as-of", "2025-12-31").code == 0


def test_wrong_table_is_wrong_usage(club):
    assert club("check", "--show", "everything").code == 2


def test_screen(club):
    assert club("check").code == 0


def test_empty_store_is_done(fleet):
    fleet("new")
    for show in ("findings", "causes", "one-sided", "sources", "pooling", "told-twice"):
        done = fleet("check", "--show", show)
        assert done.code == 0, (show, done.err)


def test_a_fit_says_why_lives_were_pooled(club):
    done = club("fit", "--by", "model")
    assert "Nothing speaks against taking together" in done.err
