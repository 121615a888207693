"""Bad input of every kind: answered in one sentence, nothing lost."""

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import xlsxwriter

HEAD = "unit,date,kind,cause\n"


def imported(club, folder, name, data):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return club("import", path, "--json")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("NOBODY,2024-01-01,working,", "NOBODY"),
        ("TL-020,2999-01-01,working,", "2999-01-01"),
        ("TL-020,31/12/2024,working,", "31/12/2024"),
        ("TL-020,2024-01-01,exploded,", "exploded"),
        (f"TL-020,2024-01-01,{'x' * 10_000},", "kind"),
        (",2024-01-01,working,", "unit"),
    ],
)
def test_impossible_row_is_refused_with_the_reason(club, tmp_path, row, said):
    good = "TL-021,2024-02-01,working,\n"
    (counts,) = imported(club, tmp_path, "reports.csv", f"{HEAD}{good}{row}\n").rows()
    assert (counts["rows"], counts["kept"], counts["rejected"]) == (2, 1, 1)
    (refused,) = club("rejects", "--json").rows()
    assert refused["line"] == 3
    assert said in refused["reason"]
    assert len(refused["reason"]) < 1_000


@pytest.mark.parametrize(
    "rows",
    [
        "TL-020,1990-01-01,failed,capacitor\n",
        "TL-020,2024-01-01,retired,\nTL-020,2024-06-01,working,\n",
    ],
)
def test_records_that_disagree_never_make_a_life(club, tmp_path, rows):
    (counts,) = imported(club, tmp_path, "reports.csv", HEAD + rows).rows()
    assert counts["rows"] == counts["kept"] + counts["rejected"]
    lives = [row for row in club("lives", "--json").rows() if row["unit"] == "TL-020"]
    assert all(row["end"] == "working" for row in lives)
    if counts["kept"]:
        assert lives == []
        findings = " ".join(
            row["subject"] + row["finding"] for row in club("check", "--json").rows()
        )
        assert "TL-020" in findings


def test_10_000_character_cell_is_kept_whole(club, tmp_path):
    text = "n" * 10_000
    data = f"unit,date,kind,notes\nTL-020,2024-01-01,note,{text}\n"
    (counts,) = imported(club, tmp_path, "reports.csv", data).rows()
    assert counts["kept"] == 1
    club("export", tmp_path / "out")
    assert text in (tmp_path / "out" / "reports.csv").read_text()


@pytest.mark.parametrize("data", ["", "\n", "\ufeff"])
def test_empty_file_is_one_sentence(club, tmp_path, data):
    done = imported(club, tmp_path, "reports.csv", data)
    assert done.code in (0, 1)
    assert "reports.csv" in done.err
    assert "report it" not in done.err


def test_wrong_header_is_1_and_names_the_columns(club, tmp_path):
    before = club("imports", "--csv").out
    done = imported(club, tmp_path, "reports.csv", "machine,day,what\nTL-020,2024-01-01,working\n")
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert "machine" in done.err or "unit" in done.err
    assert club("imports", "--csv").out == before


@pytest.mark.parametrize(
    ("encoding", "separator"),
    [
        ("utf-8", ","),
        ("utf-8-sig", ","),
        ("utf-8-sig", ";"),
        ("utf-16", ";"),
        ("utf-16", "\t"),
        ("cp1252", ";"),
    ],
)
def test_bom_semicolons_and_other_encodings(club, tmp_path, encoding, separator):
    cells = [
        ["unit", "date", "kind", "notes"],
        ["TL-020", "2024-02-01", "note", "Gerät läuft"],
    ]
    text = "\r\n".join(separator.join(row) for row in cells) + "\r\n"
    (counts,) = imported(club, tmp_path, "reports.csv", text.encode(encoding)).rows()
    assert counts["kept"] == 1
    club("export", tmp_path / "out")
    assert "Gerät läuft" in (tmp_path / "out" / "reports.csv").read_text(encoding="utf-8")


def test_spreadsheet_with_two_sheets(club, tmp_path):
    path = tmp_path / "club.xlsx"
    sheets = {
        "units": [["unit", "model"], ["TL-700", "BM-2"]],
        "reports": [["unit", "date", "kind"], ["TL-700", "2024-02-01", "working"]],
        "holiday": [["who", "when"], ["all", "August"]],
    }
    with xlsxwriter.Workbook(path) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
    done = club("import", path, "--json")
    assert {row["kind"]: row["kept"] for row in done.rows()} == {"units": 1, "reports": 1}
    assert "holiday" in done.err


def test_file_that_is_not_there_and_kind_nobody_knows(club, tmp_path):
    assert club("import", tmp_path / "none.csv").code == 1
    (tmp_path / "shopping.csv").write_text("milk,bread\n1,2\n")
    for words in ([], ["--as", "groceries"]):
        done = club("import", tmp_path / "shopping.csv", *words)
        assert done.code == 1
        assert done.err.count("\n") == 1


def test_store_of_a_newer_version_is_refused_unharmed(club, store):
    import duckdb

    with duckdb.connect(str(store)) as con:
        tables = [row[0] for row in con.sql("show tables").fetchall()]
        versions = [name for name in tables if "step" in name or "version" in name]
        assert versions, tables
        columns = con.sql(f'describe "{versions[0]}"').fetchall()
        whole = next(row[0] for row in columns if "INT" in row[1])
        con.sql(f'update "{versions[0]}" set "{whole}" = "{whole}" + 1000')
    before = store.read_bytes()
    done = club("lives")
    assert done.code == 1
    assert "newer" in done.err
    assert done.err.count("\n") == 1
    assert store.read_bytes() == before


def test_file_that_is_no_store(fleet, store):
    store.write_text("Dear club, the bread maker is broken again.")
    done = fleet("lives")
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert store.read_text().startswith("Dear club")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root writes anywhere")
def test_read_only_store_answers_and_refuses_to_write(club, store):
    store.chmod(0o444)
    store.parent.chmod(0o555)
    try:
        done = club("log", "working", "TL-020", "--on", "2024-07-15")
        assert done.code == 1
        assert done.err.count("\n") == 1
    finally:
        store.parent.chmod(0o755)
        store.chmod(0o644)


def test_two_processes_writing_lose_nothing(club, store):
    root = Path(__file__).resolve().parents[2]

    def log(number):
        words = ["log", "note", "TL-020", "--on", "2024-07-15", "--notes", f"note {number}"]
        return subprocess.run(
            [sys.executable, "-m", "fleet", *words, "--store", str(store)],
            cwd=root,
            capture_output=True,
            text=True,
            check=False,
        )

    with ThreadPoolExecutor(2) as pool:
        done = list(pool.map(log, range(6)))
    assert [one.returncode for one in done] == [0] * 6, [one.stderr for one in done]
    club("export", store.parent / "out")
    text = (store.parent / "out" / "reports.csv").read_text()
    assert all(f"note {number}" in text for number in range(6))


@pytest.mark.parametrize("words", [("log", "failed", "TL-020", "--on", "2024", "--cause", "maybe"),
                                   ("add", "step", "--moment", "maybe")])  # fmt: skip
def test_a_choice_there_is_not_is_said_in_our_words(club, words):
    done = club(*words)
    assert done.code == 2
    assert "'maybe' is not one of" in done.err
    assert "Value error" not in done.err
