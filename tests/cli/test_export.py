"""fleet export: what it writes, import reads back without loss."""

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
