"""fleet import: every row is kept, refused with its line, or known already."""

KEYS = {"file", "kind", "rows", "kept", "rejected", "already_known", "import"}
WITH_FAULTS = """unit,model,manufactured
TL-201,BM-2,2004
TL-202,BM 2,2004
TL-203,BM-2,20x4
"""


def _adds_up(rows):
    return all(row["rows"] == row["kept"] + row["rejected"] + row["already_known"] for row in rows)


def test_folder_counts_every_row(fleet, club_folder):
    fleet("new")
    rows = fleet("import", club_folder, "--json").rows()
    assert all(row.keys() >= KEYS for row in rows)
    assert {row["kind"]: row["kept"] for row in rows} == {
        "sources": 1,
        "models": 2,
        "batches": 1,
        "units": 30,
        "reports": 30,
    }
    assert _adds_up(rows)
    assert len({row["import"] for row in rows}) == 1


def test_same_files_twice_change_nothing(club, club_folder):
    before = club("lives", "--csv").out
    rows = club("import", club_folder, "--json").rows()
    assert sum(row["kept"] for row in rows) == 0
    assert sum(row["already_known"] for row in rows) == 64
    assert _adds_up(rows)
    assert club("lives", "--csv").out == before


def test_rejects_exit_0_and_are_said_with_line_and_reason(club, tmp_path):
    (tmp_path / "units.csv").write_text(WITH_FAULTS)
    done = club("import", tmp_path / "units.csv")
    assert done.code == 0
    assert "line 3" in done.err
    assert "line 4" in done.err
    assert "fleet rejects" in done.err
    assert "fleet undo" in done.err


def test_strict_exits_1_and_still_keeps_the_good_rows(club, tmp_path):
    (tmp_path / "units.csv").write_text(WITH_FAULTS)
    assert club("import", tmp_path / "units.csv", "--strict").code == 1
    assert club("log", "working", "TL-201", "--on", "2024-01-01").code == 0


def test_only_ten_rejects_are_shown_and_the_rest_counted(club, tmp_path):
    rows = [f"TL-{n},BM 2" for n in range(300, 325)]
    (tmp_path / "units.csv").write_text("\n".join(["unit,model", *rows]) + "\n")
    done = club("import", tmp_path / "units.csv")
    assert done.err.count("Refused: ") == 10
    assert "25 rows refused (15 more" in done.err


def test_kind_can_be_said(club, tmp_path):
    (tmp_path / "list.csv").write_text("unit,model\nTL-400,BM-2\n")
    rows = club("import", tmp_path / "list.csv", "--as", "units", "--json").rows()
    assert [(row["kind"], row["kept"]) for row in rows] == [("units", 1)]


def test_alias_reads_another_spelling(club, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-401,BM 2\n")
    refused = club("import", tmp_path / "units.csv", "--json").rows()
    assert refused[0]["rejected"] == 1
    done = club("import", tmp_path / "units.csv", "--alias", "BM 2=BM-2", "--json")
    assert done.rows()[0]["kept"] == 1


def test_alias_must_be_a_pair(club, tmp_path):
    assert club("import", tmp_path, "--alias", "BK-3").code == 2


def test_csv_has_the_same_columns(club, club_folder):
    header = club("import", club_folder, "--csv").out.splitlines()[0]
    assert set(header.split(",")) == KEYS


def test_a_dry_run_counts_and_writes_nothing(club, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-500,BM-2\nTL-501,\n")
    before = club("imports", "--json").rows()
    tried = club("import", tmp_path / "units.csv", "--dry-run", "--json")
    assert [(row["kept"], row["rejected"], row["import"]) for row in tried.rows()] == [(1, 1, None)]
    assert "Nothing was written" in tried.err
    assert club("imports", "--json").rows() == before
    done = club("import", tmp_path / "units.csv", "--json").rows()[0]
    assert (done["kept"], done["rejected"]) == (1, 1)


def test_columns_of_other_names_are_read_as_told(club, tmp_path):
    (tmp_path / "theirs.csv").write_text("Machine,Seen,What,Shelf\nTL-020,2024-06-30,stored,A\n")
    named = ["--column", "Machine=unit", "--column", "Seen=date", "--column", "What=kind"]
    done = club("import", tmp_path / "theirs.csv", "--as", "reports", *named)
    assert done.code == 1
    assert "Shelf is no column of reports" in done.err
    done = club("import", tmp_path / "theirs.csv", "--as", "reports", *named, "--column", "Shelf=",
                "--source", "club", "--json")  # fmt: skip
    assert done.rows()[0]["kept"] == 1
    assert "left out the columns Shelf" in done.err


def test_a_column_without_its_equals_sign_is_wrong_usage(club, tmp_path):
    (tmp_path / "theirs.csv").write_text("Machine\nTL-020\n")
    assert club("import", tmp_path / "theirs.csv", "--column", "Machine").code == 2
