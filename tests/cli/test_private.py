"""An owner's private notes leave the store by no command but the one that asks for them by name."""

import shutil
import zipfile
from pathlib import Path

import polars as pl
import pytest

from fleet.cli.app import COMMANDS
from fleet.flow.known import known_records

SECRET = "zinc-otter-4471"
OLD = "brass-heron-9902"  # noted once, and taken out again

# What each command is run with; {dir} is a folder of its own. A new command belongs here too.
LINES = {
    "import": [["import", "{dir}/units.csv"]],
    "undo": [["undo", "i-0006", "--dry-run"], ["undo", "i-0006"]],
    "imports": [["imports"]],
    "rejects": [["rejects"]],
    "add": [["add", "unit", "TL-2{n}", "--model", "BM-2", "--private-notes", SECRET + " again"]],
    "log": [["log", "working", "TL-015", "--on", "2024-06-29"]],
    "amend": [["amend", "{unit}", "--set", "site=shed"]],
    "trail": [["trail"], ["trail", "--unit", "TL-015"]],
    "unit": [
        ["unit", "TL-015", "--no-due"],
        ["unit", "TL-016", "--no-due"],
        ["unit", "TL-015", "--no-due", "--show", "disagreements"],
    ],
    "lives": [["lives"], ["lives", "--by", "position"]],
    "curve": [["curve", "--by", "batch"]],
    "fit": [["fit", "--by", "model"]],
    "compare": [["compare", "--by", "batch"]],
    "suspects": [["suspects"]],
    "due": [["due"]],
    "changed": [["changed", "--since", "2020-01-01", "--no-batches"]],
    "policies": [["policies"]],
    "choose": [["choose", "TL-015"]],
    "plan": [["plan", "--calendar", "{dir}/bench.ics"]],
    "order": [["order", "--out", "{dir}/order.xlsx"]],
    "part": [["part", "life", "--rated-hours", "2000", "--temperature", "105", "--ambient", "40"]],
    "sheet": [["sheet", "TL-015", "--out", "{dir}/bench.html"]],
    "outcomes": [["outcomes"]],
    "expect": [["expect", "--quarters", "2"]],
    "backtest": [["backtest", "--from", "2022-01-01", "--every", "2"]],
    "report": [["report", "--quick", "--out", "{dir}/report.html"]],
    "check": [["check"]],
    "export": [
        ["export", "{dir}/csv", "--photos"],
        ["export", "{dir}/book", "--form", "xlsx"],
        ["export", "{dir}/parquet", "--form", "parquet"],
    ],
}
# Asked in every form; the tables of the others hold no text of a machine's own.
CHEAP = {"imports", "rejects", "add", "log", "trail", "unit"}
NO_TABLE = {"sheet", "report"}
# No output made of records; a backup is a whole copy of the store, private notes and all.
NOT_ASKED = {"new", "demo", "dashboard", "backup", "restore"}


def test_every_command_is_listed():
    assert set(LINES) | NOT_ASKED == set(COMMANDS)


@pytest.fixture(scope="module")
def _noted_store(_club_store, run_on, tmp_path_factory):
    """The club's store with private notes of every origin, and refused rows that held some."""
    folder = tmp_path_factory.mktemp("noted")
    store = folder / "noted.duckdb"
    shutil.copy(_club_store, store)

    def run(*words):
        done = run_on(store, *words)
        assert done.code == 0, done.err
        assert not any(word in done.out + done.err for word in (SECRET, OLD))

    head = "unit,model,enrolled_on,site,private_notes\n"
    (folder / "units.csv").write_text(
        f"{head}TL-100,BM-2,2015-01-01,attic,{SECRET} from a file\n"
        f"TL-101,BM-2,no date,attic,{SECRET} in a refused row\n"
        f"TL-102,BM-2,2015-01-01,attic,{SECRET},{SECRET} in one with a cell too many\n"
    )
    run("import", folder / "units.csv")
    for unit, texts in {"TL-015": [f"{SECRET} amended"], "TL-016": [OLD, ""]}.items():
        for text in texts:
            known = known_records(store, ("units",), as_of=None, unit=unit)["units"]
            run("amend", known["record"][0], "--set", f"private_notes={text}", "--by", "ann")
    run("add", "unit", "TL-200", "--model", "BM-2", "--private-notes", f"{SECRET} added")
    return store


@pytest.fixture
def noted(fleet, store, tmp_path, _noted_store):
    """`fleet` on a copy of that store; the file that was brought in lies beside it."""
    shutil.copy(_noted_store, store)
    shutil.copy(_noted_store.with_name("units.csv"), tmp_path)
    return fleet


@pytest.fixture
def unit_record(store, noted):
    return known_records(store, ("units",), as_of=None, unit="TL-015")["units"]["record"][0]


@pytest.mark.parametrize("unit", ["TL-015", "TL-100", "TL-200"])
def test_asked_for_by_name_they_are_shown(noted, unit):
    (row,) = noted("unit", unit, "--show", "private", "--json").rows()
    assert row["unit"] == unit
    assert row["private_notes"].startswith(SECRET)


def test_notes_taken_out_are_shown_no_more(noted):
    assert noted("unit", "TL-016", "--show", "private", "--json").rows() == []


def test_a_correction_of_something_else_keeps_them(noted, unit_record):
    assert noted("amend", unit_record, "--set", "site=shed").code == 0
    (row,) = noted("unit", "TL-015", "--show", "private", "--json").rows()
    assert row["private_notes"] == f"{SECRET} amended"


def test_notes_for_what_is_on_record_already_are_not_lost_unsaid(noted, tmp_path):
    added = noted("add", "unit", "TL-200", "--model", "BM-2", "--private-notes", "other")
    assert "its private notes were not touched" in added.err
    again = noted("import", tmp_path / "units.csv")
    assert "private notes" not in again.err
    text = (tmp_path / "units.csv").read_text().replace("from a file", "of another sort")
    (tmp_path / "units.csv").write_text(text)
    assert (
        "1 machine is on record already with other private notes"
        in noted("import", tmp_path / "units.csv").err
    )


@pytest.mark.parametrize("command", LINES)
def test_no_other_command_lets_them_out(noted, tmp_path, command, unit_record):
    place = tmp_path / "out"
    place.mkdir()
    (place / "units.csv").write_text((tmp_path / "units.csv").read_text())
    for line in LINES[command]:
        forms = [["--json"]] if command not in CHEAP else [[], ["--json"], ["--csv"]]
        for n, form in enumerate(forms):
            words = [word.format(dir=place, unit=unit_record, n=n) for word in line]
            done = noted(*words, *([] if command in NO_TABLE else form))
            assert done.code == 0, (words, done.err)
            for word in (SECRET, OLD):
                assert word not in done.out, words
                assert word not in done.err, words
    (place / "units.csv").unlink()
    files = [p for p in place.rglob("*") if p.is_file()]
    if any("{dir}" in word for line in LINES[command] for word in line[1:]):
        assert files or command == "import"
    for file in files:
        text = readable(file)
        assert "TL-" in text or file.stem not in ("units", "records", "report", "TL-015"), file
        for word in (SECRET, OLD, "private_notes"):
            assert word not in text, file


def readable(file: Path) -> str:
    """All the text of a file, whatever it is packed in."""
    if file.suffix == ".parquet":
        return str(pl.read_parquet(file).to_dicts()) + str(pl.read_parquet(file).columns)
    data = file.read_bytes()
    if zipfile.is_zipfile(file):
        with zipfile.ZipFile(file) as packed:
            data = b"\n".join(packed.read(name) for name in packed.namelist())
    return data.decode("utf-8", errors="replace")


def test_a_backup_keeps_them(noted, tmp_path):
    assert noted("backup", tmp_path / "kept.duckdb").code == 0
    (row,) = noted(
        "unit", "TL-015", "--show", "private", "--json", "--store", tmp_path / "kept.duckdb"
    ).rows()
    assert row["private_notes"] == f"{SECRET} amended"


def test_an_export_brought_back_is_known_already(noted, tmp_path):
    assert noted("export", tmp_path / "csv").code == 0
    again = noted("import", tmp_path / "csv", "--json").rows()
    assert {(row["kept"], row["rejected"]) for row in again} == {(0, 0)}
