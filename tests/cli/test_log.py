"""fleet log: one report, or a roll call, with readings; contradictions are refused or flagged."""

import typing

import pytest
import typer

from fleet.cli.log import ReportKind, Seen, read_reading
from fleet.frames import KINDS


def _choices(hint):
    """The words of the Literal somewhere inside a type hint."""
    if typing.get_origin(hint) is typing.Literal:
        return typing.get_args(hint)
    return next((found for one in typing.get_args(hint) if (found := _choices(one))), ())


def test_choices_are_those_of_the_record_kind():
    columns = {column.name: column for column in KINDS["reports"].columns}
    assert _choices(ReportKind) == columns["kind"].choices
    hints = typing.get_type_hints(Seen, include_extras=True)
    for name in ("cause", "because"):
        assert _choices(hints[name]) == columns[name].choices
    assert set(hints) | {"unit", "date", "kind"} == {*columns, "source"}


def test_one_report_prints_its_id(club):
    (row,) = club("log", "failed", "TL-020", "--on", "2024-05", "--cause", "other", "--json").rows()
    assert row["record"]


def test_roll_call_of_many_units(club):
    units = [f"TL-{n:03}" for n in range(15, 31)]
    rows = club("log", "working", *units, "--on", "2024-07-15", "--json").rows()
    assert len({row["record"] for row in rows}) == 16
    due = club("due", "--as-of", "2026-01-01", "--json").rows()
    # as_of also counts the day of entry: reports entered today are not known on earlier days.
    assert {row["last_known_working"] for row in due if row["unit"] in units} <= {
        "2024-06-30",
        "2024-07-15",
    }


def test_units_from_a_file(club, tmp_path):
    (tmp_path / "seen.txt").write_bytes("\ufeffTL-015\r\n\r\n TL-016 \r\n".encode())
    words = ["--units-from", tmp_path / "seen.txt", "--on", "2024-07-15", "--json"]
    assert len(club("log", "working", "TL-017", *words).rows()) == 3


def test_file_without_units_is_1(club, tmp_path):
    (tmp_path / "none.txt").write_text("\n")
    done = club("log", "working", "--units-from", tmp_path / "none.txt", "--on", "2024-07-15")
    assert done.code == 1
    assert "names no unit" in done.err


def test_reading_comes_with_the_report(club, tmp_path):
    done = club(
        *("log", "recapped", "TL-020", "--on", "2024-07-15", "--because", "reading"),
        *("--positions", "C3"),
        *("--reading", "C3,stage=before,volts_positive=3.1,volts_negative=-2.9"),
        *("--reading", "C3,stage=after,esr_ohm=0.2"),
    )
    assert done.code == 0, done.err
    club("export", tmp_path / "out")
    text = (tmp_path / "out" / "readings.csv").read_text()
    assert text.count("\n") == 3
    assert "-2.9" in text


@pytest.mark.parametrize("text", ["", "stage=before", "C3,before", "C3,stage=before,stage=after"])
def test_bad_reading_is_wrong_usage(text):
    with pytest.raises(typer.BadParameter):
        read_reading(text)


def test_reading():
    assert read_reading("C3, stage=before,limit_used=>=2") == {
        "position": "C3",
        "stage": "before",
        "limit_used": ">=2",
    }


def test_unknown_unit_stops_the_whole_roll_call(club):
    before = club("lives", "--csv").out
    done = club("log", "working", "TL-015", "TL-O16", "--on", "2024-07-15")
    assert done.code == 1
    assert "TL-O16" in done.err
    assert club("lives", "--csv").out == before


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ([], ["failed", "TL-020", "--on", "1990", "--cause", "capacitor"]),
        (["retired", "TL-020", "--on", "2024-07-01"], ["working", "TL-020", "--on", "2025-07-01"]),
    ],
)
def test_contradiction_is_refused_and_anyway_keeps_both(club, first, then):
    if first:
        assert club("log", *first).code == 0
    refused = club("log", *then)
    assert refused.code == 1
    assert "TL-020" in refused.err
    assert "--anyway" in refused.err
    assert refused.err.count("\n") == 1
    kept = club("log", *then, "--anyway")
    assert kept.code == 0
    assert "kept although" in kept.err
    assert "TL-020" not in {row["unit"] for row in club("lives", "--json").rows()}


def test_future_is_refused(club):
    done = club("log", "working", "TL-020", "--on", "2999-01-01")
    assert done.code == 1
    assert "2999-01-01" in done.err


def test_same_report_twice_is_known_already(club):
    words = ["log", "working", "TL-020", "--on", "2024-07-15", "--json"]
    (first,) = club(*words).rows()
    (second,) = club(*words).rows()
    assert second == {"record": first["record"], "already_known": True}


def test_today_is_a_date(club):
    assert club("log", "working", "TL-020", "--on", "today").code == 0


def readings_of(club, folder):
    club("export", folder)
    return (folder / "readings.csv").read_text().splitlines()[1:]


def test_reading_in_the_short_form(club, tmp_path):
    done = club(
        *("log", "recapped", "TL-020", "--on", "2024-07-15", "--cured", "yes"),
        *("--positions", "C3;C4"),
        *("--reading", "C3 before 3.1/-0.2V 4.1ohm after 0.2ohm"),
        *("--reading", "C4,stage=after,esr_ohm=0.3"),
    )
    assert done.code == 0, done.err
    rows = readings_of(club, tmp_path / "out")
    assert len(rows) == 3
    assert any("before,3.1,-0.2,4.1" in row for row in rows)
    assert "cured" in (tmp_path / "out" / "reports.csv").read_text()


def test_readings_from_a_sheet(club, tmp_path):
    sheet = tmp_path / "sheet.txt"
    sheet.write_text("# TL-020\nC1 before 4 ohm after 0.2 ohm\nC2 before after\nC3 before 1mohm\n")
    done = club(
        *(
            "log",
            "recapped",
            "TL-020",
            "--on",
            "2024-07-15",
            "--readings-from",
            sheet,
            "--positions",
            "all",
        ),
    )
    assert done.code == 0, done.err
    assert len(readings_of(club, tmp_path / "out")) == 3


@pytest.mark.parametrize(
    ("text", "said"), [("C1 4ohm\n", "line 1"), ("C1 before after\n", "holds no reading")]
)
def test_a_sheet_that_is_not_read_keeps_nothing(club, tmp_path, text, said):
    sheet = tmp_path / "sheet.txt"
    sheet.write_text(text)
    before = club("lives", "--csv").out
    done = club(
        "log",
        "recapped",
        "TL-020",
        "--on",
        "2024-07-15",
        "--readings-from",
        sheet,
        "--positions",
        "all",
    )
    assert done.code == 1
    assert said in done.err
    assert "sheet.txt" in done.err
    assert done.err.count("\n") == 1
    assert club("lives", "--csv").out == before


def test_a_short_reading_that_is_not_read_is_wrong_usage(club):
    done = club("log", "recapped", "TL-020", "--on", "2024", "--reading", "C3 before warm")
    assert done.code == 2


def test_cured_belongs_to_jobs_only(club):
    done = club("log", "working", "TL-020", "--on", "2024-07-15", "--cured", "yes")
    assert done.code == 1
    assert "cured" in done.err


def _bench(club, tmp_path):
    places = tmp_path / "positions.csv"
    places.write_text(
        "model,position,esr_ohm,voltage,ground_referenced,grounded_end,polarity_note\n"
        "BM-2,C3,0.06,25,yes,negative,\nBM-2,C4,0.06,25,yes,positive,\n"
        "BM-2,C5,,25,yes,,non-polar\nBM-2,C6,,25,yes,,\n"
    )
    assert club("import", places, "--strict").code == 0

    def told(*readings):
        words = [word for one in readings for word in ("--reading", one)]
        ask = ("log", "recapped", "TL-020", "--on", "2024-07-15", "--positions", "all")
        done = club(*ask, *words)
        assert done.code == 0, done.err
        return done.err

    return told


def test_ends_the_wrong_way_round_are_said(club, tmp_path):
    # Common practice, no source: in a place tied to ground its grounded end reads about 0 V.
    told = _bench(club, tmp_path)
    swapped = told("C3 before 0.02/12.1V", "C6 before 0/12V")
    assert "C3 before: the ends read the wrong way round" in swapped
    assert "C6 before: the ends read the wrong way round" in swapped
    assert "probes swapped, the part in backwards, or a negative rail" in swapped
    fine = told("C3 after 12.1/0.02V", "C4 after 0.01/-12V", "C5 after 0/12V")
    assert "look again" not in fine


def test_a_new_part_that_reads_far_above_a_fresh_one_is_said(club, tmp_path):
    told = _bench(club, tmp_path)
    assert "C3 after: 0.9 ohm, where a fresh part reads about 0.06 ohm" in told("C3 after 0.9ohm")
    assert "fresh part" not in told("C3 before 0.9ohm after 0.085ohm")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--reading", "C3 before 4ohm"], "which positions were replaced is not said"),
        (["--positions", "all", "--batch", "BATCH"], "batch is BATCH, as printed"),
        (["--positions", "all", "--by", "NAME"], "by is NAME, as printed"),
        (["--positions", "all", "--reading", "C3,stage=before,esr_ohm="], "holds no value"),
    ],
)
def test_a_line_typed_as_printed_is_refused_whole(club, words, said):
    before = club("lives", "--csv").out
    done = club("log", "recapped", "TL-020", "--on", "2024-07-15", *words)
    assert done.code == 1
    assert said in done.err
    assert club("lives", "--csv").out == before


def test_a_short_reading_without_a_value_is_wrong_usage(club):
    words = ("--positions", "all", "--reading", "C3 before after")
    assert club("log", "recapped", "TL-020", "--on", "2024-07-15", *words).code == 2
