"""fleet export: what it writes, import reads back without loss."""

import csv

import pytest


@pytest.mark.parametrize("form", ["csv", "xlsx", "parquet"])
def test_export_then_import_loses_nothing(club, fleet, tmp_path, form):
    (logged,) = club("log", "failed", "TL-020", "--on", "2024-07-15", "--json").rows()
    club("amend", logged["record"], "--set", "cause=capacitor")
    written = club("export", tmp_path / "out", "--form", form, "--json").rows()
    assert sum(row["rows"] for row in written) >= 66
    other = tmp_path / "other.duckdb"
    assert fleet("new", "--store", other).code == 0
    done = fleet("import", tmp_path / "out", "--store", other, "--strict")
    assert done.code == 0, done.err
    for command in (
        ["lives", "--ages", "days", "--csv"],
        ["due", "--as-of", "2024-06-30", "--csv"],
    ):
        assert fleet(*command, "--store", other).out == club(*command).out


def test_file_in_the_way_is_1(club, tmp_path):
    (tmp_path / "out").write_text("not a folder")
    done = club("export", tmp_path / "out")
    assert done.code == 1
    assert done.err.count("\n") == 1


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_texts_like_formulas_come_back_unchanged_and_a_csv_says_so(club, fleet, tmp_path, form):
    texts = ["=1+1", "'=1+1", "@SUM(A1)", "-5"]
    for text in texts:
        done = club("log", "working", "TL-020", "--on", "2024-06-15", "--notes", text)
        assert done.code == 0, done.err
    written = club("export", tmp_path / "out", "--form", form)
    assert ("2 texts begin like a formula" in written.err) == (form == "csv")
    assert "hold the notes of reports" in written.err
    other = tmp_path / "other.duckdb"
    assert fleet("new", "--store", other).code == 0
    done = fleet("import", tmp_path / "out", "--store", other, "--strict")
    assert done.code == 0, done.err
    again = fleet("export", tmp_path / "again", "--store", other)
    assert again.code == 0, again.err
    with (tmp_path / "again" / "reports.csv").open(encoding="utf-8-sig") as file:
        notes = [row["notes"] for row in csv.DictReader(file)]
    assert sorted(note for note in notes if note) == sorted(texts)


def test_without_notes_nothing_is_said_of_them(club, tmp_path):
    written = club("export", tmp_path / "out")
    assert "notes of" not in written.err
    assert "formula" not in written.err
